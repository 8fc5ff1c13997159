-- Power MOSFETs against one need: each part's figures at this drive, its losses, the junction temperature it
-- settles at, and one three-valued verdict a criterion (NULL is unknown).
--
-- ok_X        the verdict of criterion X: true passes, false fails, NULL is unknown
-- has_X       what the part has, and
-- needs_X     what the need asks of it, where the criterion compares numbers
-- assumed_X   whether the part's figures rest on assumption X
--
-- The need's numbers are bound, and the planner folds each CASE over them to one branch: of all the columns of
-- on-resistance a scan reads the one of this drive, and plain comparisons meet the zone maps of the sorted
-- table. $closely false says that only sure passes matter: what would tell a failure from an unknown is then
-- not even read. Values are in SI units, temperatures in °C. What is carried along beside a part's own columns is
-- named by the asker: where many needs are judged at once, which need it is and what that one asks.

WITH parts AS (
{{parts}}
),

-- Each level's column holds the maximum on-resistance specified at the greatest gate voltage not above it.
-- "under" is the level that the drive reaches; "over" the next one, whose figure counts where the gate voltage
-- it was given at is not above the drive.
at_drive AS (
    SELECT
        {{besides}}
        part_key, maker, part_number, channel, package, leaded, standing, claims, differs, typical,
        package_rthja_k_per_w, package_rthjc_k_per_w, package_rthcs_k_per_w, rthja_k_per_w, rthjc_k_per_w,
        vds_v, vgs_max_v, vgs_th_max_v, id_case_a, id_case_hot_a, id_ambient_a, id_pulse_a, id_unmarked,
        junction_max_degc, hot_exponent, qg_c, qgd_c, rise_s, fall_s, rds_from_v, rds_unmarked, rds_guessed,
        CASE
            WHEN $drive_v >= 12.0e0 THEN rds_12v0_ohm
            WHEN $drive_v >= 10.0e0 THEN rds_10v0_ohm
            WHEN $drive_v >= 8.0e0 THEN rds_8v0_ohm
            WHEN $drive_v >= 6.0e0 THEN rds_6v0_ohm
            WHEN $drive_v >= 5.0e0 THEN rds_5v0_ohm
            WHEN $drive_v >= 4.5e0 THEN rds_4v5_ohm
            WHEN $drive_v >= 4.0e0 THEN rds_4v0_ohm
            WHEN $drive_v >= 3.3e0 THEN rds_3v3_ohm
            WHEN $drive_v >= 2.7e0 THEN rds_2v7_ohm
            WHEN $drive_v >= 2.5e0 THEN rds_2v5_ohm
            WHEN $drive_v >= 1.8e0 THEN rds_1v8_ohm
        END AS rds_under_ohm,
        CASE
            WHEN $drive_v >= 12.0e0 THEN rds_12v0_at_v
            WHEN $drive_v >= 10.0e0 THEN rds_10v0_at_v
            WHEN $drive_v >= 8.0e0 THEN rds_8v0_at_v
            WHEN $drive_v >= 6.0e0 THEN rds_6v0_at_v
            WHEN $drive_v >= 5.0e0 THEN rds_5v0_at_v
            WHEN $drive_v >= 4.5e0 THEN rds_4v5_at_v
            WHEN $drive_v >= 4.0e0 THEN rds_4v0_at_v
            WHEN $drive_v >= 3.3e0 THEN rds_3v3_at_v
            WHEN $drive_v >= 2.7e0 THEN rds_2v7_at_v
            WHEN $drive_v >= 2.5e0 THEN rds_2v5_at_v
            WHEN $drive_v >= 1.8e0 THEN rds_1v8_at_v
        END AS rds_under_at_v,
        CASE
            WHEN $drive_v >= 12.0e0 THEN rds_typ_12v0_ohm
            WHEN $drive_v >= 10.0e0 THEN rds_typ_10v0_ohm
            WHEN $drive_v >= 8.0e0 THEN rds_typ_8v0_ohm
            WHEN $drive_v >= 6.0e0 THEN rds_typ_6v0_ohm
            WHEN $drive_v >= 5.0e0 THEN rds_typ_5v0_ohm
            WHEN $drive_v >= 4.5e0 THEN rds_typ_4v5_ohm
            WHEN $drive_v >= 4.0e0 THEN rds_typ_4v0_ohm
            WHEN $drive_v >= 3.3e0 THEN rds_typ_3v3_ohm
            WHEN $drive_v >= 2.7e0 THEN rds_typ_2v7_ohm
            WHEN $drive_v >= 2.5e0 THEN rds_typ_2v5_ohm
            WHEN $drive_v >= 1.8e0 THEN rds_typ_1v8_ohm
        END AS rds_typ_under_ohm,
        CASE
            WHEN $drive_v < 1.8e0 THEN rds_1v8_ohm
            WHEN $drive_v < 2.5e0 THEN rds_2v5_ohm
            WHEN $drive_v < 2.7e0 THEN rds_2v7_ohm
            WHEN $drive_v < 3.3e0 THEN rds_3v3_ohm
            WHEN $drive_v < 4.0e0 THEN rds_4v0_ohm
            WHEN $drive_v < 4.5e0 THEN rds_4v5_ohm
            WHEN $drive_v < 5.0e0 THEN rds_5v0_ohm
            WHEN $drive_v < 6.0e0 THEN rds_6v0_ohm
            WHEN $drive_v < 8.0e0 THEN rds_8v0_ohm
            WHEN $drive_v < 10.0e0 THEN rds_10v0_ohm
            WHEN $drive_v < 12.0e0 THEN rds_12v0_ohm
        END AS rds_over_ohm,
        CASE
            WHEN $drive_v < 1.8e0 THEN rds_1v8_at_v
            WHEN $drive_v < 2.5e0 THEN rds_2v5_at_v
            WHEN $drive_v < 2.7e0 THEN rds_2v7_at_v
            WHEN $drive_v < 3.3e0 THEN rds_3v3_at_v
            WHEN $drive_v < 4.0e0 THEN rds_4v0_at_v
            WHEN $drive_v < 4.5e0 THEN rds_4v5_at_v
            WHEN $drive_v < 5.0e0 THEN rds_5v0_at_v
            WHEN $drive_v < 6.0e0 THEN rds_6v0_at_v
            WHEN $drive_v < 8.0e0 THEN rds_8v0_at_v
            WHEN $drive_v < 10.0e0 THEN rds_10v0_at_v
            WHEN $drive_v < 12.0e0 THEN rds_12v0_at_v
        END AS rds_over_at_v
    FROM parts
),

figures AS (
    SELECT
        *,
        CASE
            WHEN $drive_v NOT IN (1.8e0, 2.5e0, 2.7e0, 3.3e0, 4.0e0, 4.5e0, 5.0e0, 6.0e0, 8.0e0, 10.0e0, 12.0e0)
                AND rds_over_at_v <= $drive_v
                THEN rds_over_ohm
            ELSE rds_under_ohm
        END AS rds_max_ohm,
        CASE
            WHEN $drive_v NOT IN (1.8e0, 2.5e0, 2.7e0, 3.3e0, 4.0e0, 4.5e0, 5.0e0, 6.0e0, 8.0e0, 10.0e0, 12.0e0)
                AND rds_over_at_v <= $drive_v
                THEN rds_over_at_v
            ELSE rds_under_at_v
        END AS rds_max_at_v,
        coalesce(
            hot_exponent,
            CASE
                WHEN vds_v <= 60e0 THEN 1.65e0
                WHEN vds_v < 150e0 THEN 1.65e0 + (vds_v - 60e0) * ((2.4e0 - 1.65e0) / (150e0 - 60e0))
                ELSE 2.4e0
            END
        ) AS exponent,
        -- A rating in still air is a lower bound of the rating at the case: it can only prove a pass.
        coalesce(
            id_case_a, id_case_hot_a, CASE WHEN id_ambient_a >= $id_least_a THEN id_ambient_a END
        ) AS id_a,
        CASE
            WHEN $heatsink_k_per_w IS NULL THEN coalesce(rthja_k_per_w, package_rthja_k_per_w)
            ELSE coalesce(rthjc_k_per_w, package_rthjc_k_per_w) + package_rthcs_k_per_w + $heatsink_k_per_w
        END AS rth_k_per_w,
        least(coalesce(junction_max_degc, $junction_assumed_degc) - $junction_derate_k, $junction_cap_degc)
            AS junction_limit_degc,
        CASE
            WHEN $pwm_hz = 0e0 THEN 0e0
            WHEN qgd_c IS NULL AND qg_c IS NULL THEN rise_s + fall_s
            WHEN vgs_th_max_v < $drive_v
                THEN coalesce(qgd_c, qg_c) * $gate_ohm / ($drive_v - vgs_th_max_v)
                    + coalesce(qgd_c, qg_c) * $gate_ohm / vgs_th_max_v
        END AS edges_s
    FROM at_drive
),

plain AS (
    SELECT
        *,
        CASE WHEN $let_drive THEN coalesce(rds_max_ohm, rds_typ_under_ohm) ELSE rds_max_ohm END AS rds25_ohm,
        CASE
            WHEN $pwm_hz = 0e0 THEN 0e0
            ELSE $switching_share * $supply_v * $current_a * edges_s * $pwm_hz
        END AS switching_loss_w,
        CASE WHEN $pwm_hz = 0e0 THEN 0e0 ELSE $drive_v * qg_c * $pwm_hz END AS gate_loss_w,

        channel = $channel AS ok_channel,
        $package_count = 0 OR package IN ($package) AS ok_package,
        standing = 2 OR ($closely AND CASE WHEN standing = 1 THEN NULL ELSE FALSE END) AS ok_offer,
        rds_max_ohm IS NOT NULL
            OR ($closely AND CASE WHEN rds_typ_under_ohm IS NULL AND rds_from_v IS NOT NULL THEN FALSE END)
            AS ok_drive,
        -- The threshold is where a small current starts: it can only prove that a part is not on. Unknown, it
        -- stops nothing that the on-resistance settles.
        vgs_th_max_v < $drive_v
            OR (
                vgs_th_max_v IS NULL
                AND (rds_max_ohm IS NOT NULL OR ($closely AND rds_from_v IS NOT NULL) OR NULL)
            )
            AS ok_threshold,
        vgs_max_v >= $vgs_least_v AS ok_gate,
        vds_v >= $vds_least_v AS ok_voltage,
        id_a >= $id_least_a AS ok_current,
        CASE WHEN $inrush_a IS NULL OR id_a >= $inrush_a THEN TRUE ELSE id_pulse_a >= $inrush_a END AS ok_inrush
    FROM figures
),

head AS (
    SELECT * FROM plain
    {{head}}
),

heating AS (
    SELECT
        *,
        $duty * $current_a * $current_a * rds25_ohm * rth_k_per_w AS k,
        exponent / 298.15e0 AS a,
        exponent * (exponent - 1e0) / (2e0 * 298.15e0 * 298.15e0) AS b
    FROM head
),

balance AS (
    SELECT *, k * a - 1e0 AS qb, ($ambient_degc - 25e0) + rth_k_per_w * switching_loss_w + k AS qc FROM heating
),

rooted AS (
    SELECT *, qb * qb - 4e0 * k * b * qc AS discriminant FROM balance
),

-- The smaller root of the heat balance, in the form that never cancels; no root is thermal runaway.
settled AS (
    SELECT
        *,
        qb >= 0e0 OR discriminant < 0e0 AS runaway,
        CASE
            WHEN qb < 0e0 AND discriminant >= 0e0 THEN 25e0 + 2e0 * qc / (sqrt(discriminant) - qb)
        END AS junction_degc
    FROM rooted
),

-- Where heat is unknown and accepted, the on-resistance is taken at the hottest junction allowed.
hot AS (
    SELECT
        *,
        CASE WHEN $let_heat AND runaway IS NULL THEN junction_limit_degc ELSE junction_degc END - 25e0
            AS delta_k
    FROM settled
),

conducting AS (
    SELECT
        *,
        $duty * $current_a * $current_a * (rds25_ohm * (1e0 + delta_k * (a + b * delta_k))) AS conduction_loss_w,
        CASE
            WHEN $heatsink_k_per_w IS NULL AND leaded
                THEN least(coalesce($max_loss_w, $leaded_loss_w), $leaded_loss_w)
            ELSE $max_loss_w
        END AS loss_limit_w
    FROM hot
)

SELECT
    {{besides}}
    part_key,
    maker,
    part_number,
    channel,
    package,
    coalesce(rds_max_ohm, rds_typ_under_ohm) AS rds_on_ohm,
    rds25_ohm,
    rds_max_at_v AS rds_on_vgs_v,
    rds_from_v,
    rds25_ohm * (1e0 + delta_k * (a + b * delta_k)) AS rds_hot_ohm,
    exponent AS hot_exponent,
    conduction_loss_w,
    switching_loss_w,
    gate_loss_w,
    conduction_loss_w + switching_loss_w AS part_loss_w,
    conduction_loss_w + switching_loss_w + coalesce(gate_loss_w, 0e0) AS total_loss_w,
    junction_degc,
    junction_limit_degc,
    runaway,
    rth_k_per_w,
    coalesce(rthjc_k_per_w, package_rthjc_k_per_w) AS rthjc_k_per_w,
    package_rthcs_k_per_w AS rthcs_k_per_w,
    leaded,
    coalesce(rthja_k_per_w, package_rthja_k_per_w) AS still_air_k_per_w,
    vds_v,
    vgs_max_v,
    vgs_th_max_v,
    id_a,
    id_pulse_a,
    edges_s,
    claims,
    differs,
    typical,

    ok_channel,
    ok_package,
    ok_offer,
    ok_drive,
    ok_threshold,
    ok_gate,
    ok_voltage,
    ok_current,
    ok_inrush,
    -- Without a sink, and where it is not known whether the package stands on leads, a loss above what leads may
    -- take is unknown.
    CASE
        WHEN conduction_loss_w + switching_loss_w > $max_loss_w THEN FALSE
        WHEN $heatsink_k_per_w IS NULL AND leaded IS NULL
            THEN CASE WHEN conduction_loss_w + switching_loss_w <= $leaded_loss_w THEN TRUE END
        WHEN loss_limit_w IS NULL THEN TRUE
        ELSE conduction_loss_w + switching_loss_w <= loss_limit_w
    END AS ok_loss,
    CASE WHEN $closely AND runaway THEN FALSE ELSE junction_degc <= junction_limit_degc END AS ok_heat,

    coalesce(rds_max_at_v, rds_from_v) AS has_drive,
    vgs_th_max_v AS has_threshold,
    vgs_max_v AS has_gate,
    vds_v AS has_voltage,
    id_a AS has_current,
    coalesce(id_pulse_a, id_a) AS has_inrush,
    conduction_loss_w + switching_loss_w AS has_loss,
    junction_degc AS has_heat,
    $drive_v AS needs_drive,
    $drive_v AS needs_threshold,
    $vgs_least_v AS needs_gate,
    $vds_least_v AS needs_voltage,
    $id_least_a AS needs_current,
    $inrush_a AS needs_inrush,
    loss_limit_w AS needs_loss,
    junction_limit_degc AS needs_heat,

    hot_exponent IS NULL AS assumed_hot_exponent,
    $heatsink_k_per_w IS NULL AND rthja_k_per_w IS NULL AS assumed_still_air,
    $heatsink_k_per_w IS NOT NULL AND rthjc_k_per_w IS NULL AS assumed_junction_to_case,
    $heatsink_k_per_w IS NOT NULL AS assumed_case_to_sink,
    junction_max_degc IS NULL AS assumed_junction_max,
    rds_unmarked AS assumed_unmarked_on_resistance,
    rds_guessed AS assumed_guessed_unit,
    $inrush_a IS NOT NULL AND id_pulse_a IS NULL AS assumed_no_pulse_rating,
    rds_max_ohm IS NULL AND rds25_ohm IS NOT NULL AS assumed_typical_on_resistance,
    id_unmarked AND id_case_a IS NOT NULL AS assumed_unmarked_current,
    id_case_a IS NULL AND id_case_hot_a IS NOT NULL AS assumed_hot_case_current,
    id_case_a IS NULL AND id_case_hot_a IS NULL AND id_a IS NOT NULL AS assumed_still_air_current,
    $pwm_hz > 0e0 AND (qgd_c IS NOT NULL OR qg_c IS NOT NULL) AS assumed_plateau,
    $pwm_hz > 0e0 AND qgd_c IS NULL AND qg_c IS NOT NULL AS assumed_whole_charge,
    $pwm_hz > 0e0 AND qgd_c IS NULL AND qg_c IS NULL AND rise_s IS NOT NULL AS assumed_listed_edges,
    $pwm_hz > 0e0 AND qg_c IS NULL AS assumed_no_gate_loss,
    $let_heat AND runaway IS NULL AS assumed_hottest_junction
FROM conducting
