-- Freewheel diodes against one need: the mean current and heat of each, the junction temperature, and one
-- three-valued verdict a criterion (NULL is unknown). transistor.sql says what ok_X, has_X, needs_X, assumed_X and
-- $closely are.
--
-- $off_share is the share of the time in which the diode conducts; 0 where the load is switched so seldom that its
-- heat has no mean. Values are in SI units, temperatures in °C.

WITH parts AS (
{{parts}}
),

given AS (
    SELECT
        *,
        coalesce(vf_at_a, vf_current_a) AS stated_at_a,
        coalesce(vf_at_a, vf_current_a, if_av_a) AS forward_at_a,
        coalesce(rthja_k_per_w, package_rthja_k_per_w) AS rth_k_per_w,
        least(coalesce(junction_max_degc, $junction_assumed_degc) - $junction_derate_k, $junction_cap_degc)
            AS junction_limit_degc
    FROM parts
    {{head}}
),

-- At less current the voltage is lower, so the figure is an upper bound; at more it says too little.
conducting AS (
    SELECT
        *,
        CASE WHEN forward_at_a >= $current_a OR $let_heat THEN vf_v END AS forward_v
    FROM given
),

lossy AS (
    SELECT
        *,
        CASE WHEN $off_share = 0e0 THEN 0e0 ELSE forward_v * $mean_a END AS conduction_loss_w
    FROM conducting
),

heated AS (
    SELECT
        *,
        CASE
            WHEN $off_share = 0e0 THEN $ambient_degc ELSE $ambient_degc + conduction_loss_w * rth_k_per_w
        END AS junction_degc
    FROM lossy
)

SELECT
    {{besides}}
    part_key,
    maker,
    part_number,
    kind,
    package,
    forward_v,
    CASE WHEN forward_v IS NOT NULL THEN forward_at_a END AS forward_at_a,
    conduction_loss_w,
    $mean_a AS mean_a,
    junction_degc,
    junction_limit_degc,
    rth_k_per_w,
    vrrm_v,
    if_av_a,
    ifsm_a,
    trr_s,
    claims,
    differs,
    typical,

    standing = 2 OR ($closely AND CASE WHEN standing = 1 THEN NULL ELSE FALSE END) AS ok_offer,
    $package_count = 0 OR package IN ($package) AS ok_package,
    -- "other" is what no freewheel diode can be: a Zener diode, a suppressor, a bridge.
    kind IS DISTINCT FROM 'other' AND ($kind_count = 0 OR kind IN ($kind)) AS ok_kind,
    vrrm_v >= $vrrm_least_v AS ok_voltage,
    if_av_a >= $if_least_a AS ok_current,
    if_av_a >= $current_a OR ifsm_a >= $current_a AS ok_surge,
    CASE
        WHEN $pwm_hz <= $seldom_hz OR kind = 'schottky' THEN TRUE
        WHEN trr_s IS NOT NULL THEN trr_s <= $trr_most_s
        ELSE kind IN ('fast', 'ultrafast')
    END AS ok_recovery,
    junction_degc <= junction_limit_degc AS ok_heat,

    vrrm_v AS has_voltage,
    if_av_a AS has_current,
    coalesce(ifsm_a, if_av_a) AS has_surge,
    trr_s AS has_recovery,
    junction_degc AS has_heat,
    $vrrm_least_v AS needs_voltage,
    $if_least_a AS needs_current,
    $current_a AS needs_surge,
    $trr_most_s AS needs_recovery,
    junction_limit_degc AS needs_heat,

    $off_share > 0e0 AND stated_at_a IS NULL AND if_av_a >= $current_a AND vf_v IS NOT NULL
        AS assumed_current_of_forward_voltage,
    $off_share > 0e0 AND $let_heat AND vf_v IS NOT NULL AND coalesce(forward_at_a < $current_a, TRUE)
        AS assumed_lower_current,
    $off_share > 0e0 AND rthja_k_per_w IS NULL AND package_rthja_k_per_w IS NOT NULL AS assumed_still_air,
    junction_max_degc IS NULL AS assumed_junction_max,
    ifsm_a IS NULL AND if_av_a >= $current_a AS assumed_no_surge_rating,
    $pwm_hz > $seldom_hz AND trr_s IS NULL AND kind IN ('schottky', 'fast', 'ultrafast') AS assumed_recovery_by_kind,

    $off_share > 0e0 AND kind = 'schottky' AS remark_hot_leakage
FROM heated
