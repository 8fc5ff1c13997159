-- Connectors against one need: what each carries in this air, how warm its contacts get, what they lose, and one
-- three-valued verdict a criterion (NULL is unknown).
--
-- ok_X        the verdict of criterion X: true passes, false fails, NULL is unknown
-- has_X       what the part has, and
-- needs_X     what the need asks of it, where the criterion compares numbers
-- assumed_X   whether the part's figures rest on assumption X
-- remark_X    whether remark X is to be made of the part
--
-- Values are in SI units, temperatures in °C. What the need does not ask for is NULL, and its criterion passes.

WITH parts AS (
{{parts}}
),

-- A rating by UL and one by IEC come from two tests: the one asked for counts, else the least that any list gives.
-- rating_basis is which of them that is.
rated AS (
    SELECT
        *,
        CASE
            WHEN $basis = 'UL' THEN rated_ul_a
            WHEN $basis = 'IEC' THEN rated_iec_a
            ELSE least(
                coalesce(rated_ul_a, rated_iec_a, rated_a),
                coalesce(rated_iec_a, rated_ul_a, rated_a),
                coalesce(rated_a, rated_ul_a, rated_iec_a)
            )
        END AS rating_a,
        CASE
            WHEN $basis = 'UL' THEN voltage_ul_v
            WHEN $basis = 'IEC' THEN voltage_iec_v
            ELSE least(
                coalesce(voltage_ul_v, voltage_iec_v, voltage_v, voltage_ac_v),
                coalesce(voltage_iec_v, voltage_ul_v, voltage_v, voltage_ac_v),
                coalesce(voltage_v, voltage_ul_v, voltage_iec_v, voltage_ac_v)
            )
        END AS rating_v
    FROM parts
),

-- The base curve is taken by IEC's rules; where UL's rating was asked for, it counts beside that rating only.
curved AS (
    SELECT
        *,
        CASE WHEN $basis = 'UL' AND rated_ul_a IS NULL THEN NULL ELSE derating END AS points
    FROM rated
),

-- The points on both sides of the ambient, and the last one. Of two values at one temperature the lesser counts.
reached AS (
    SELECT
        *,
        list_max(list_transform(list_filter(points, lambda p: p.degc <= $ambient_degc), lambda p: p.degc))
            AS colder_degc,
        list_min(list_transform(list_filter(points, lambda p: p.degc >= $ambient_degc), lambda p: p.degc))
            AS warmer_degc,
        list_max(list_transform(points, lambda p: p.degc)) AS last_degc
    FROM curved
),

-- A connector reaches at least the last temperature that its curve is drawn to.
pointed AS (
    SELECT
        *,
        coalesce(limit_degc, greatest($limit_assumed_degc, coalesce(last_degc, $limit_assumed_degc))) AS own_limit_degc,
        list_min(list_transform(list_filter(points, lambda p: p.degc = colder_degc), lambda p: p.value)) AS colder_a,
        list_min(list_transform(list_filter(points, lambda p: p.degc = warmer_degc), lambda p: p.value)) AS warmer_a,
        list_min(list_transform(list_filter(points, lambda p: p.degc = last_degc), lambda p: p.value)) AS last_a
    FROM reached
),

based AS (
    SELECT
        *,
        CASE
            WHEN $ambient_degc > last_degc THEN NULL
            WHEN colder_degc IS NULL OR colder_degc = warmer_degc THEN warmer_a
            ELSE colder_a + (warmer_a - colder_a) * (($ambient_degc - colder_degc) / (warmer_degc - colder_degc))
        END AS curve_a,
        -- Beyond its last point a curve says nothing; the root law goes on from there where the limit is known.
        CASE
            WHEN $ambient_degc > last_degc AND limit_degc > $ambient_degc
                THEN last_a * sqrt((limit_degc - $ambient_degc) / (limit_degc - last_degc))
            WHEN $ambient_degc > last_degc AND limit_degc <= $ambient_degc THEN 0e0
        END AS beyond_a,
        CASE
            WHEN last_degc IS NULL AND own_limit_degc > $rated_degc
                THEN rating_a * sqrt(
                    greatest(least((own_limit_degc - $ambient_degc) / (own_limit_degc - $rated_degc), 1e0), 0e0)
                )
        END AS root_a
    FROM pointed
),

carrying AS (
    SELECT *, coalesce(curve_a, beyond_a, root_a) AS base_a FROM based
),

plain AS (
    SELECT
        *,
        CASE
            WHEN base_a IS NOT NULL THEN least($usable_share * base_a, coalesce(rating_a, $usable_share * base_a))
        END AS usable_a,
        CASE WHEN $usable_share * base_a > rating_a THEN rating_a END AS capped_a,
        -- On the base curve the contact is at its limit; at its rating it is as much warmer as the standard allows.
        CASE WHEN last_degc IS NOT NULL THEN base_a ELSE rating_a END AS rise_at_a,
        CASE
            WHEN last_degc IS NOT NULL THEN greatest(own_limit_degc - $ambient_degc, 0e0)
            WHEN construction = 'pluggable' OR (construction IS NULL AND gender IS NOT NULL) THEN $plug_rise_k
            ELSE $terminal_rise_k
        END AS rise_k,
        least(own_limit_degc, coalesce(CAST($temperature_limit_degc AS DOUBLE), own_limit_degc)) AS contact_limit_degc,
        $contacts * $current_a * $current_a * contact_ohm AS conduction_loss_w,
        abs(pitch_m - CAST($pitch_asked_m AS DOUBLE)) * (poles - 1e0) AS pitch_off_m,
        -- The range for the kind of wire asked for; where the list has none, what holds for every kind it speaks of.
        CASE
            WHEN $wire_kind = 'solid' THEN coalesce(wire_solid_min_m2, wire_solid_max_m2) IS NOT NULL
            WHEN $wire_kind = 'stranded' THEN coalesce(wire_stranded_min_m2, wire_stranded_max_m2) IS NOT NULL
            WHEN $wire_kind = 'ferruled' THEN coalesce(wire_ferrule_min_m2, wire_ferrule_max_m2) IS NOT NULL
            ELSE FALSE
        END AS kind_known
    FROM carrying
),

ranged AS (
    SELECT
        *,
        CASE
            WHEN NOT kind_known THEN wire_min_m2
            WHEN $wire_kind = 'solid' THEN wire_solid_min_m2
            WHEN $wire_kind = 'stranded' THEN wire_stranded_min_m2
            ELSE wire_ferrule_min_m2
        END AS wire_least_m2,
        CASE
            WHEN NOT kind_known THEN wire_max_m2
            WHEN $wire_kind = 'solid' THEN wire_solid_max_m2
            WHEN $wire_kind = 'stranded' THEN wire_stranded_max_m2
            ELSE wire_ferrule_max_m2
        END AS wire_most_m2,
        CASE
            WHEN rise_at_a > 0e0
                THEN $ambient_degc + rise_k * (($current_a / rise_at_a) * ($current_a / rise_at_a))
        END AS contact_degc,
        $current_a / nullif(usable_a, 0e0) AS strain
    FROM plain
),

verdicts AS (
    SELECT
        *,
        standing = 2 OR ($closely AND CASE WHEN standing = 1 THEN NULL ELSE FALSE END) AS ok_offer,
        $series IS NULL OR lower(series) = lower(CAST($series AS VARCHAR)) AS ok_series,
        $mount IS NULL OR mount = $mount AS ok_mount,
        $gender IS NULL OR gender = $gender AS ok_gender,
        $construction IS NULL OR construction = $construction AS ok_construction,
        $poles_asked IS NULL OR poles = CAST($poles_asked AS DOUBLE) AS ok_poles,
        $pitch_asked_m IS NULL OR abs(pitch_m - CAST($pitch_asked_m AS DOUBLE)) <= $pitch_within_m AS ok_pitch,
        rating_v >= $supply_v AS ok_voltage,
        usable_a >= $current_least_a AS ok_current,
        -- What fills the range is in it, whatever its other end; between an end that is known and one that is not,
        -- nobody knows.
        $wire_m2 IS NULL
            OR coalesce(abs(CAST($wire_m2 AS DOUBLE) - wire_most_m2) <= $same_within * wire_most_m2, FALSE)
            OR (
                CAST($wire_m2 AS DOUBLE) >= wire_least_m2 * (1e0 - $same_within)
                AND CAST($wire_m2 AS DOUBLE) <= wire_most_m2 * (1e0 + $same_within)
            )
            AS ok_wire,
        contact_degc <= contact_limit_degc AS ok_temperature
    FROM ranged
),

head AS (
    SELECT * FROM verdicts
    {{head}}
)

SELECT
    {{besides}}
    part_key,
    maker,
    part_number,
    package,
    series,
    poles,
    pitch_m,
    mount,
    gender,
    construction,
    mates_with,
    rating_a,
    rated_ul_a,
    rated_iec_a,
    rated_a,
    colder_degc,
    colder_a,
    warmer_degc,
    warmer_a,
    curve_a,
    CASE WHEN colder_degc < warmer_degc THEN curve_a END AS between_a,
    CASE WHEN colder_degc IS NULL OR colder_degc = warmer_degc THEN curve_a END AS point_a,
    last_degc,
    last_a,
    beyond_a,
    root_a,
    base_a,
    usable_a,
    capped_a,
    strain,
    conduction_loss_w,
    contact_ohm,
    contact_degc,
    rise_k,
    rise_at_a,
    own_limit_degc AS limit_degc,
    contact_limit_degc,
    rating_v,
    voltage_ul_v,
    voltage_iec_v,
    voltage_v,
    voltage_ac_v,
    wire_least_m2,
    wire_most_m2,
    loaded_poles,
    pitch_off_m,
    CAST($pitch_asked_m AS DOUBLE) AS pitch_asked_m,
    torque_min_n_m,
    torque_max_n_m,
    strip_m,
    claims,
    differs,
    typical,

    ok_offer,
    ok_series,
    ok_mount,
    ok_gender,
    ok_construction,
    ok_poles,
    ok_pitch,
    ok_voltage,
    ok_current,
    ok_wire,
    ok_temperature,

    poles AS has_poles,
    pitch_m AS has_pitch,
    rating_v AS has_voltage,
    usable_a AS has_current,
    CASE WHEN CAST($wire_m2 AS DOUBLE) < wire_least_m2 THEN wire_least_m2 ELSE wire_most_m2 END AS has_wire,
    contact_degc AS has_temperature,
    CAST($poles_asked AS DOUBLE) AS needs_poles,
    CAST($pitch_asked_m AS DOUBLE) AS needs_pitch,
    $supply_v AS needs_voltage,
    $current_least_a AS needs_current,
    CAST($wire_m2 AS DOUBLE) AS needs_wire,
    contact_limit_degc AS needs_temperature,

    root_a IS NOT NULL AS assumed_root_law,
    root_a IS NOT NULL AS assumed_rated_air,
    beyond_a IS NOT NULL AS assumed_beyond_curve,
    limit_degc IS NULL AND coalesce(last_degc <= $limit_assumed_degc, TRUE)
        AND (root_a IS NOT NULL OR contact_degc IS NOT NULL) AS assumed_limit,
    coalesce(limit_degc IS NULL AND last_degc > $limit_assumed_degc, FALSE) AS assumed_curve_limit,
    $basis IS NULL AND rating_a IS NOT NULL AND rated_a = rating_a
        AND coalesce(rated_ul_a > rating_a, TRUE) AND coalesce(rated_iec_a > rating_a, TRUE) AS assumed_basis,
    $basis IS NULL AND rating_v IS NOT NULL AND voltage_v = rating_v
        AND coalesce(voltage_ul_v > rating_v, TRUE) AND coalesce(voltage_iec_v > rating_v, TRUE)
        AS assumed_voltage_basis,
    $basis IS NULL AND coalesce(voltage_ul_v, voltage_iec_v, voltage_v) IS NULL AND voltage_ac_v IS NOT NULL
        AS assumed_alternating,
    usable_a IS NOT NULL AND loaded_poles IS NULL AND $poles_loaded > 1e0 AS assumed_loaded_poles,
    coalesce(usable_a IS NOT NULL AND loaded_poles < $poles_loaded, FALSE) AS assumed_more_poles,
    $wire_m2 IS NOT NULL AND $wire_kind IS NOT NULL AND NOT kind_known
        AND coalesce(wire_min_m2, wire_max_m2) IS NOT NULL AS assumed_wire_kind,
    contact_degc IS NOT NULL AND last_degc IS NULL AND rise_k = $plug_rise_k AS assumed_plug_rise,
    contact_degc IS NOT NULL AND last_degc IS NULL AND rise_k = $terminal_rise_k AS assumed_terminal_rise,
    contact_ohm IS NULL AS assumed_unknown_loss,

    coalesce(NOT ok_pitch AND pitch_off_m IS NOT NULL, FALSE) AS remark_pitch,
    coalesce(loaded_poles < $poles_loaded, FALSE) AS remark_more_poles,
    coalesce(rated_ul_a <> rated_iec_a, FALSE) AS remark_basis,
    mates_with IS NOT NULL AS remark_mate,
    mates_with IS NULL AND (coalesce(construction = 'pluggable', FALSE) OR gender IS NOT NULL) AS remark_half,
    torque_min_n_m IS NOT NULL AND coalesce(torque_max_n_m <= torque_min_n_m, TRUE) AS remark_torque,
    coalesce(torque_max_n_m > torque_min_n_m, FALSE) AS remark_torque_range,
    torque_min_n_m IS NULL AND torque_max_n_m IS NOT NULL AS remark_torque_most,
    coalesce($wire_kind = 'stranded', FALSE) AS remark_ferrules
FROM head
