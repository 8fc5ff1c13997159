-- Fuses against one need: what each carries for good at the hottest air, what surely opens it in the coldest, what it
-- breaks, and what it takes of the supply; and one three-valued verdict a criterion (NULL is unknown).
--
-- ok_X        the verdict of criterion X: true passes, false fails, NULL is unknown
-- has_X       what the part has, and
-- needs_X     what the need asks of it, where the criterion compares numbers
-- assumed_X   whether the part's figures rest on assumption X
-- remark_X    whether remark X is said of it
--
-- The need's numbers are bound. A temperature from 18 to 27 °C counts as room temperature, at which ratings are
-- given (23 °C where a list does not say). Values are in SI units, temperatures in °C.

WITH parts AS (
{{parts}}
),

-- A list without a column for the type shows it by the figures that it gives.
named AS (
    SELECT
        *,
        type AS listed_type,
        standard AS listed_standard,
        coalesce(
            type,
            CASE
                WHEN hold_a IS NOT NULL OR hold_curve IS NOT NULL OR trip_a IS NOT NULL THEN 'resettable'
                WHEN rating_a IS NOT NULL OR rating_curve IS NOT NULL THEN 'one-shot'
                WHEN continuous_a IS NOT NULL OR continuous_curve IS NOT NULL THEN 'one-shot'
            END
        ) AS kind,
        lower(package) LIKE '%blade%' OR lower(package) LIKE '%flachsicherung%'
            OR lower(package) LIKE '%flachstecksicherung%' AS blade_size,
        continuous_a IS NOT NULL OR continuous_curve IS NOT NULL AS continuous,
        -- Sizes are one where they agree but for case, blanks, punctuation and the unit.
        regexp_replace(
            regexp_replace(replace(lower(package), '×', 'x'), '[^a-z0-9äöü]', '', 'g'), 'mm$', ''
        ) AS folded_size
    FROM parts
),

tables AS (
    SELECT
        *,
        coalesce(standard, CASE WHEN blade_size AND kind = 'one-shot' THEN 'blade' END) AS tested,
        CASE WHEN kind = 'resettable' THEN hold_curve WHEN continuous THEN continuous_curve ELSE rating_curve END AS curve,
        CASE WHEN kind = 'resettable' THEN hold_a WHEN continuous THEN continuous_a ELSE rating_a END AS stated_a
    FROM named
),

-- The current against temperature: the list's own points, and its rating at room temperature where none is near.
pointed AS (
    SELECT
        *,
        CASE
            WHEN curve IS NULL
                THEN CASE WHEN stated_a IS NOT NULL THEN [struct_pack(degc := 23e0, value := stated_a)] END
            WHEN stated_a IS NULL OR array_length(list_filter(curve, lambda p: p.degc BETWEEN 18e0 AND 27e0)) > 0
                THEN curve
            ELSE list_append(curve, struct_pack(degc := 23e0, value := stated_a))
        END AS points,
        CASE
            WHEN kind = 'resettable' THEN coalesce(
                hold_a,
                list_min(
                    list_transform(list_filter(hold_curve, lambda p: p.degc BETWEEN 18e0 AND 27e0), lambda p: p.value)
                )
            )
            ELSE coalesce(
                rating_a,
                list_min(
                    list_transform(list_filter(rating_curve, lambda p: p.degc BETWEEN 18e0 AND 27e0), lambda p: p.value)
                )
            )
        END AS nominal_a
    FROM tables
),

spanned AS (
    SELECT
        *,
        list_min(list_transform(points, lambda p: p.degc)) AS first_degc,
        list_max(list_transform(points, lambda p: p.degc)) AS last_degc
    FROM pointed
),

-- Where the table is read. Beyond its last point it says nothing; a fuse that opens once and has no table is taken at
-- room temperature. In the cold a resettable fuse trips later, so nothing is read before the first point.
read_at AS (
    SELECT
        *,
        CASE
            WHEN $ambient_degc <= last_degc THEN CAST($ambient_degc AS DOUBLE)
            WHEN $ambient_degc <= 27e0 AND last_degc >= 18e0 THEN last_degc
            WHEN kind = 'one-shot' AND last_degc BETWEEN 18e0 AND 27e0 THEN last_degc
        END AS hot_at_degc,
        CASE
            WHEN $coldest_degc >= first_degc AND $coldest_degc <= last_degc THEN CAST($coldest_degc AS DOUBLE)
            WHEN $coldest_degc >= 18e0 AND $coldest_degc < first_degc AND first_degc <= 27e0 THEN first_degc
            WHEN $coldest_degc <= 27e0 AND $coldest_degc > last_degc AND last_degc >= 18e0 THEN last_degc
        END AS cold_at_degc
    FROM spanned
),

between_points AS (
    SELECT
        *,
        coalesce(
            list_max(list_transform(list_filter(points, lambda p: p.degc <= hot_at_degc), lambda p: p.degc)), first_degc
        ) AS hot_low_degc,
        list_min(list_transform(list_filter(points, lambda p: p.degc >= hot_at_degc), lambda p: p.degc)) AS hot_high_degc,
        list_max(list_transform(list_filter(points, lambda p: p.degc <= cold_at_degc), lambda p: p.degc)) AS cold_low_degc,
        list_min(list_transform(list_filter(points, lambda p: p.degc >= cold_at_degc), lambda p: p.degc)) AS cold_high_degc
    FROM read_at
),

-- Two points at one temperature: the lesser current counts for what the fuse carries, the greater for what trips it.
valued AS (
    SELECT
        *,
        list_min(list_transform(list_filter(points, lambda p: p.degc = hot_low_degc), lambda p: p.value)) AS hot_low_a,
        list_min(list_transform(list_filter(points, lambda p: p.degc = hot_high_degc), lambda p: p.value)) AS hot_high_a,
        list_max(list_transform(list_filter(points, lambda p: p.degc = cold_low_degc), lambda p: p.value)) AS cold_low_a,
        list_max(list_transform(list_filter(points, lambda p: p.degc = cold_high_degc), lambda p: p.value)) AS cold_high_a,
        list_min(list_transform(list_filter(points, lambda p: p.degc = last_degc), lambda p: p.value)) AS last_a
    FROM between_points
),

interpolated AS (
    SELECT
        *,
        CASE
            WHEN hot_at_degc <= hot_low_degc THEN hot_low_a
            WHEN hot_at_degc = hot_high_degc THEN hot_high_a
            ELSE hot_low_a
                + (hot_high_a - hot_low_a) * (hot_at_degc - hot_low_degc) / (hot_high_degc - hot_low_degc)
        END AS table_hot_a,
        CASE
            WHEN cold_at_degc = cold_low_degc THEN cold_low_a
            WHEN cold_at_degc = cold_high_degc THEN cold_high_a
            ELSE cold_low_a
                + (cold_high_a - cold_low_a) * (cold_at_degc - cold_low_degc) / (cold_high_degc - cold_low_degc)
        END AS cold_carries_a,
        -- What the standard lets a fuse carry for good, of its rating. A table of continuous currents has it inside,
        -- and so has a blade fuse's table against temperature.
        CASE
            WHEN kind = 'resettable' OR continuous THEN 1e0
            WHEN tested = 'IEC' THEN 1e0
            WHEN tested = 'blade' AND last_degc > 27e0 THEN 1e0
            WHEN kind = 'one-shot' THEN 0.75e0
        END AS share,
        CASE WHEN kind = 'one-shot' THEN CASE WHEN tested IN ('UL', 'blade') THEN 1.35e0 ELSE 2.1e0 END END AS opens_factor,
        CASE
            WHEN kind = 'one-shot' THEN CASE tested WHEN 'blade' THEN 600e0 WHEN 'IEC' THEN 1800e0 ELSE 3600e0 END
        END AS opens_within_s,
        CASE
            WHEN kind = 'resettable' THEN coalesce(most_fault_a, breaking_a) ELSE coalesce(breaking_a, most_fault_a)
        END AS fault_a,
        coalesce(voltage_dc_v, voltage_v) AS steady_v,
        coalesce(r1_max_ohm, cold_ohm) AS resistance_ohm
    FROM valued
),

plain AS (
    SELECT
        *,
        share * table_hot_a AS carries_a,
        -- Hotter than its table goes, a fuse carries less than the last entry.
        CASE WHEN $ambient_degc > last_degc THEN share * last_a END AS at_most_a,
        CASE
            WHEN kind = 'resettable' THEN trip_a * (cold_carries_a / nominal_a)
            WHEN kind = 'one-shot' THEN opens_factor * nominal_a
        END AS opens_a,
        $current_a * resistance_ohm AS drop_v,
        $current_a * $current_a * resistance_ohm AS conduction_loss_w,
        coalesce(limit_degc, 85e0) AS warmth_degc
    FROM interpolated
),

head AS (
    SELECT * FROM plain
    {{head}}
)

SELECT
    {{besides}}
    part_key,
    maker,
    part_number,
    package,
    kind AS type,
    tested AS standard,
    class,
    mounting,
    nominal_a,
    CASE WHEN kind = 'resettable' THEN nominal_a END AS hold_a,
    CASE WHEN kind = 'one-shot' THEN nominal_a END AS rating_a,
    trip_a,
    carries_a,
    carries_a - $carry_least_a AS excess_a,
    table_hot_a,
    hot_at_degc,
    hot_low_degc,
    hot_low_a,
    hot_high_degc,
    hot_high_a,
    share,
    opens_a,
    opens_factor,
    opens_within_s,
    CASE opens_within_s WHEN 600e0 THEN 'ten minutes' WHEN 1800e0 THEN 'half an hour' WHEN 3600e0 THEN 'an hour' END
        AS opens_within,
    cold_carries_a,
    steady_v AS voltage_v,
    voltage_ac_v,
    fault_a,
    resistance_ohm,
    drop_v,
    conduction_loss_w,
    trip_time_s,
    trip_time_at_a,
    limit_degc,
    CAST($inrush_a AS DOUBLE) AS inrush_a,
    hot_high_degc > hot_low_degc AS read_off_table,
    kind = 'one-shot' AND NOT continuous AS rated,
    kind = 'resettable' AS trips,
    claims,
    differs,
    typical,

    $package_count = 0 OR folded_size IN ($package) AS ok_package,
    CASE
        WHEN kind = 'other' THEN FALSE
        WHEN CAST($type AS VARCHAR) IS NULL THEN TRUE
        ELSE kind = $type
    END AS ok_type,
    CASE WHEN CAST($mount AS VARCHAR) IS NULL THEN TRUE ELSE mounting = $mount END AS ok_mount,
    CASE WHEN CAST($standard AS VARCHAR) IS NULL THEN TRUE ELSE tested = $standard END AS ok_standard,
    standing = 2 OR ($closely AND CASE WHEN standing = 1 THEN NULL ELSE FALSE END) AS ok_offer,
    steady_v >= $voltage_least_v AS ok_voltage,
    warmth_degc >= $ambient_degc AS ok_warmth,
    CASE
        WHEN carries_a IS NULL AND at_most_a < $carry_least_a THEN FALSE
        ELSE carries_a >= $carry_least_a
    END AS ok_carries,
    CASE
        WHEN CAST($weakest_a AS DOUBLE) IS NULL THEN TRUE
        -- In colder air than the rating's a resettable fuse trips later still.
        WHEN opens_a IS NULL AND kind = 'resettable' AND $coldest_degc <= 18e0 AND trip_a > $weakest_a THEN FALSE
        ELSE opens_a <= $weakest_a
    END AS ok_opens,
    CASE WHEN CAST($fault_a AS DOUBLE) IS NULL THEN TRUE ELSE fault_a >= $fault_a END AS ok_fault,
    CASE
        WHEN CAST($max_drop_v AS DOUBLE) IS NULL THEN TRUE
        WHEN drop_v > $max_drop_v THEN FALSE
        WHEN r1_max_ohm IS NOT NULL OR (kind = 'one-shot' AND cold_ohm IS NOT NULL) THEN drop_v <= $max_drop_v
        WHEN $current_a * r_min_ohm > $max_drop_v THEN FALSE
    END AS ok_drop,

    steady_v AS has_voltage,
    warmth_degc AS has_warmth,
    CASE WHEN carries_a IS NULL AND at_most_a < $carry_least_a THEN at_most_a ELSE carries_a END AS has_carries,
    CASE
        WHEN opens_a IS NULL AND kind = 'resettable' AND $coldest_degc <= 18e0 AND trip_a > $weakest_a THEN trip_a
        ELSE opens_a
    END AS has_opens,
    fault_a AS has_fault,
    coalesce(drop_v, $current_a * r_min_ohm) AS has_drop,
    $voltage_least_v AS needs_voltage,
    $ambient_degc AS needs_warmth,
    $carry_least_a AS needs_carries,
    CAST($weakest_a AS DOUBLE) AS needs_opens,
    CAST($fault_a AS DOUBLE) AS needs_fault,
    CAST($max_drop_v AS DOUBLE) AS needs_drop,

    listed_type IS NULL AND kind IS NOT NULL AS assumed_type,
    listed_standard IS NULL AND tested IS NOT NULL AS assumed_blade,
    kind = 'one-shot' AND NOT continuous AND tested IS NULL AS assumed_share,
    kind = 'one-shot' AND NOT continuous AND tested = 'blade' AND share < 1e0 AS assumed_blade_share,
    kind = 'one-shot' AND $ambient_degc > 27e0 AND last_degc <= 27e0 AS assumed_no_temperature,
    kind = 'resettable' AND stated_a IS NOT NULL
        AND coalesce(array_length(list_filter(curve, lambda p: p.degc BETWEEN 18e0 AND 27e0)), 0) = 0 AS assumed_room,
    CAST($weakest_a AS DOUBLE) IS NOT NULL AND kind = 'one-shot' AND tested IS NULL AS assumed_opens_standard,
    CAST($weakest_a AS DOUBLE) IS NOT NULL AND kind = 'one-shot' AND tested = 'IEC'
        AND coalesce(class <> 'fast', TRUE) AS assumed_opens_class,
    CAST($weakest_a AS DOUBLE) IS NOT NULL AND kind = 'one-shot' AND coalesce(tested <> 'UL', TRUE)
        AS assumed_opens_memory,
    CAST($weakest_a AS DOUBLE) IS NOT NULL AND kind = 'resettable' AND opens_a IS NOT NULL
        AND cold_carries_a <> nominal_a AS assumed_trip_scaled,
    CAST($weakest_a AS DOUBLE) IS NOT NULL AND kind = 'one-shot' AND $coldest_degc < 18e0 AS assumed_room_opening,
    voltage_dc_v IS NULL AND voltage_v IS NOT NULL AND coalesce(voltage_unmarked, FALSE) AND kind = 'one-shot'
        AND coalesce(tested <> 'blade', TRUE) AS assumed_direct,
    $let_voltage AND steady_v IS NULL AND voltage_ac_v IS NOT NULL AS assumed_alternating,
    CAST($fault_a AS DOUBLE) IS NOT NULL AND kind = 'one-shot' AND breaking_a IS NOT NULL
        AND coalesce(breaking_unmarked, FALSE) AS assumed_direct_breaking,
    CAST($fault_a AS DOUBLE) IS NOT NULL AND $let_fault AND fault_a IS NULL AND breaking_ac_a IS NOT NULL
        AS assumed_alternating_breaking,
    r1_max_ohm IS NULL AND cold_ohm IS NOT NULL AS assumed_cold_resistance,
    limit_degc IS NULL AS assumed_limit_temperature,

    trip_time_s IS NOT NULL AND trip_time_at_a IS NOT NULL AS remark_trip_time,
    trip_time_s IS NOT NULL AND trip_time_at_a IS NULL AS remark_no_trip_time,
    kind = 'one-shot' AND hot_at_degc IS NOT NULL AND last_degc > 27e0 AND (continuous OR tested = 'blade')
        AS remark_margin_inside,
    CAST($inrush_a AS DOUBLE) > carries_a AS remark_inrush,
    mounting = 'holder' OR tested = 'blade' AS remark_holder
FROM head
