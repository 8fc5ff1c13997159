-- Wire against one need: the resistance of each, the temperature it settles at, what it takes of the supply there and
-- back, and one three-valued verdict a criterion (NULL is unknown).
--
-- ok_X        the verdict of criterion X: true passes, false fails, NULL is unknown
-- has_X       what the part has, and
-- needs_X     what the need asks of it, where the criterion compares numbers
-- assumed_X   whether the part's figures rest on assumption X
-- remark_X    whether remark X is said of it
--
-- The need's numbers are bound. Values are in SI units, temperatures in °C.

WITH parts AS (
{{parts}}
),

-- IEC 60228: greatest resistance of plain copper at 20 °C in Ω/km, by nominal area in mm². Class 1 (solid) has the
-- figures of class 2, from memory, and so are the rows for 10 and 16 mm².
nominal AS (
    SELECT
        *,
        outer_m AS listed_outer_m,
        CASE
            WHEN abs(area_m2 / 0.5e-6 - 1e0) <= 0.01e0 THEN 0.5e0
            WHEN abs(area_m2 / 0.75e-6 - 1e0) <= 0.01e0 THEN 0.75e0
            WHEN abs(area_m2 / 1e-6 - 1e0) <= 0.01e0 THEN 1e0
            WHEN abs(area_m2 / 1.5e-6 - 1e0) <= 0.01e0 THEN 1.5e0
            WHEN abs(area_m2 / 2.5e-6 - 1e0) <= 0.01e0 THEN 2.5e0
            WHEN abs(area_m2 / 4e-6 - 1e0) <= 0.01e0 THEN 4e0
            WHEN abs(area_m2 / 6e-6 - 1e0) <= 0.01e0 THEN 6e0
            WHEN abs(area_m2 / 10e-6 - 1e0) <= 0.01e0 THEN 10e0
            WHEN abs(area_m2 / 16e-6 - 1e0) <= 0.01e0 THEN 16e0
        END AS nominal_mm2
    FROM parts
),

tabled AS (
    SELECT
        *,
        CASE
            WHEN strand IN ('solid', 'stranded') THEN CASE nominal_mm2
                WHEN 0.5e0 THEN 36.0e-3 WHEN 0.75e0 THEN 24.5e-3 WHEN 1e0 THEN 18.1e-3 WHEN 1.5e0 THEN 12.1e-3
                WHEN 2.5e0 THEN 7.41e-3 WHEN 4e0 THEN 4.61e-3 WHEN 6e0 THEN 3.08e-3 WHEN 10e0 THEN 1.83e-3
                WHEN 16e0 THEN 1.15e-3
            END
            ELSE CASE nominal_mm2
                WHEN 0.5e0 THEN 39.0e-3 WHEN 0.75e0 THEN 26.0e-3 WHEN 1e0 THEN 19.5e-3 WHEN 1.5e0 THEN 13.3e-3
                WHEN 2.5e0 THEN 7.98e-3 WHEN 4e0 THEN 4.95e-3 WHEN 6e0 THEN 3.30e-3 WHEN 10e0 THEN 1.91e-3
                WHEN 16e0 THEN 1.21e-3
            END
        END AS table_ohm_per_m
    FROM nominal
),

figures AS (
    SELECT
        *,
        coalesce(
            listed_ohm_per_m,
            coalesce(table_ohm_per_m, 1e-6 / 58e0 / area_m2) * CASE WHEN material = 'clad' THEN 1.6e0 ELSE 1e0 END
        ) AS ohm_per_m,
        coalesce(listed_outer_m, sqrt(4e0 * area_m2 / pi()) + 1.6e-3) AS over_all_m,
        coalesce(limit_degc, $limit_assumed_degc) - $heat_derate_k AS limit_allowed_degc
    FROM tabled
),

plain AS (
    SELECT *, $current_a * $current_a * ohm_per_m / ($film_w_per_m2_k * pi() * over_all_m) AS rise_k FROM figures
),

head AS (
    SELECT * FROM plain
    {{head}}
),

-- The balance of heat in closed form; no balance is thermal runaway.
settled AS (
    SELECT
        *,
        rise_k * 0.00393e0 >= 1e0 AS runaway,
        CASE
            WHEN rise_k * 0.00393e0 < 1e0
                THEN 20e0 + ($ambient_degc - 20e0 + rise_k) / (1e0 - rise_k * 0.00393e0)
        END AS wire_degc
    FROM head
),

warm AS (
    SELECT *, ohm_per_m * (1e0 + 0.00393e0 * (wire_degc - 20e0)) AS hot_ohm_per_m FROM settled
),

dropping AS (
    SELECT
        *,
        $current_a * hot_ohm_per_m * 2e0 * $length_m AS drop_v,
        CAST(round(36e0 - 39e0 * ln(sqrt(4e0 * area_m2 / pi()) / 0.127e-3) / ln(92e0)) AS INTEGER) AS gauge_number
    FROM warm
),

gauged AS (
    SELECT
        *,
        CASE
            WHEN gauge_number < -3 OR gauge_number > 40 THEN NULL
            WHEN gauge_number <= 0 THEN CAST(1 - gauge_number AS VARCHAR) || '/0'
            ELSE CAST(gauge_number AS VARCHAR)
        END AS gauge
    FROM dropping
)

SELECT
    {{besides}}
    part_key,
    maker,
    part_number,
    package,
    area_m2,
    gauge,
    strand,
    material,
    ohm_per_m,
    hot_ohm_per_m,
    wire_degc,
    limit_allowed_degc,
    runaway,
    drop_v,
    drop_v / $supply_v AS drop_share,
    $current_a * drop_v AS conduction_loss_w,
    voltage_v,
    over_all_m AS outer_m,
    limit_degc,
    reel_m,
    -- The cheapest offer's price over the length that it is for, where the list says that length.
    least_price / reel_m AS metre_price,
    claims,
    differs,
    typical,

    CASE
        WHEN CAST($strand AS VARCHAR) IS NULL THEN TRUE
        WHEN $strand = 'stranded' THEN strand IN ('stranded', 'fine')
        ELSE strand = $strand
    END AS ok_strand,
    standing = 2 OR ($closely AND CASE WHEN standing = 1 THEN NULL ELSE FALSE END) AS ok_offer,
    CASE WHEN CAST($min_area_m2 AS DOUBLE) IS NULL THEN TRUE ELSE area_m2 >= $min_area_m2 END AS ok_least_size,
    CASE WHEN CAST($max_area_m2 AS DOUBLE) IS NULL THEN TRUE ELSE area_m2 <= $max_area_m2 END AS ok_most_size,
    voltage_v >= $supply_v AS ok_voltage,
    CASE WHEN runaway THEN FALSE ELSE wire_degc <= limit_allowed_degc END AS ok_heat,
    drop_v <= $max_drop_v AS ok_drop,

    area_m2 AS has_least_size,
    area_m2 AS has_most_size,
    voltage_v AS has_voltage,
    wire_degc AS has_heat,
    drop_v AS has_drop,
    CAST($min_area_m2 AS DOUBLE) AS needs_least_size,
    CAST($max_area_m2 AS DOUBLE) AS needs_most_size,
    $supply_v AS needs_voltage,
    limit_allowed_degc AS needs_heat,
    $max_drop_v AS needs_drop,

    listed_ohm_per_m IS NULL AND table_ohm_per_m IS NOT NULL AS assumed_table,
    listed_ohm_per_m IS NULL AND table_ohm_per_m IS NOT NULL AND (strand = 'solid' OR nominal_mm2 >= 10e0)
        AS assumed_memory,
    listed_ohm_per_m IS NULL AND table_ohm_per_m IS NOT NULL AND strand IS NULL AS assumed_class,
    listed_ohm_per_m IS NULL AND table_ohm_per_m IS NULL AND area_m2 IS NOT NULL AS assumed_by_area,
    listed_ohm_per_m IS NULL AND material IS NULL AND area_m2 IS NOT NULL AS assumed_copper,
    listed_ohm_per_m IS NULL AND material = 'tinned' AS assumed_tinned,
    listed_ohm_per_m IS NULL AND material = 'clad' AS assumed_clad,
    listed_outer_m IS NULL AND area_m2 IS NOT NULL AS assumed_outer,
    limit_degc IS NULL AS assumed_limit,
    TRUE AS assumed_film,

    material = 'clad' AS remark_clad
FROM gauged
