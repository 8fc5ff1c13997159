-- Heat sinks against one need: each sink's thermal resistance in the air asked for, the temperatures that follow,
-- the least that a box of its size can reach in still air, and one three-valued verdict a criterion (NULL is
-- unknown). transistor.sql says what ok_X, has_X, needs_X, assumed_X and $closely are.
--
-- Values are in SI units, temperatures in °C.

WITH parts AS (
{{parts}}
),

-- A figure in moving air counts where it was taken in air no faster than the need's; else the one in still air
-- does, which is worse.
cooled AS (
    SELECT
        *,
        coalesce(forced_flow_m_per_s <= CAST($flow_m_per_s AS DOUBLE), FALSE) AND theta_forced_k_per_w IS NOT NULL
            AS blown,
        least(width_m, height_m, depth_m) AS shortest_m,
        -- A list may name several outlines: each stands for itself, in whatever spelling.
        list_transform(
            string_split_regex(lower(package), '\s*(?:[/,;|+&]|\bor\b|\band\b|\boder\b|\bund\b)\s*'),
            lambda one: regexp_replace(one, '[^a-z0-9]', '', 'g')
        ) AS outlines
    FROM parts
    {{head}}
),

figures AS (
    SELECT
        *,
        CASE WHEN blown THEN theta_forced_k_per_w ELSE theta_natural_k_per_w END AS theta_k_per_w,
        -- The least resistance of a box in still air, 60 K above air of 40 °C. Its numbers are, for air at
        -- the mean of 70 °C: 2·1.307·k·√(Ra/L³)/2.714² of the fins at their best spacing; the conductivity k and
        -- 0.387·(Ra/L³)^(1/6)/(1 + (0.492/Pr)^(9/16))^(8/27) of the plate; the film of black-body radiation.
        1e0 / (
            576.4243762353236e0 * width_m * height_m * depth_m / sqrt(shortest_m)
            + 2e0 * (width_m * height_m + width_m * depth_m + height_m * depth_m)
            * (
                0.029534880735876037e0 / shortest_m * pow(0.825e0 + 12.318764523861065e0 * sqrt(shortest_m), 2e0)
                + 9.234863456784248e0
            )
        ) AS bound_k_per_w
    FROM cooled
),

heated AS (
    SELECT
        *,
        $ambient_degc + $loss_w * theta_k_per_w AS sink_degc,
        $ambient_degc + $loss_w * (theta_k_per_w + $rthjc_k_per_w + $rthcs_k_per_w) AS junction_degc
    FROM figures
)

SELECT
    {{besides}}
    part_key,
    maker,
    part_number,
    package,
    fixing,
    theta_k_per_w,
    sink_degc,
    junction_degc,
    width_m,
    height_m,
    depth_m,
    mass_kg,
    bound_k_per_w,
    theta_natural_k_per_w,
    theta_forced_k_per_w,
    forced_flow_m_per_s,
    blown,
    least_price,
    claims,
    differs,
    typical,

    standing = 2 OR ($closely AND CASE WHEN standing = 1 THEN NULL ELSE FALSE END) AS ok_offer,
    $package_count = 0 OR array_length(list_filter(outlines, lambda one: one IN ($footprint))) > 0
        AS ok_package,
    $fixing_count = 0 OR fixing IN ($fixing) AS ok_fixing,
    CAST($max_height_m AS DOUBLE) IS NULL OR height_m <= CAST($max_height_m AS DOUBLE) AS ok_height,
    CAST($max_width_m AS DOUBLE) IS NULL OR width_m <= CAST($max_width_m AS DOUBLE) AS ok_width,
    CAST($max_depth_m AS DOUBLE) IS NULL OR depth_m <= CAST($max_depth_m AS DOUBLE) AS ok_depth,
    CAST($max_mass_kg AS DOUBLE) IS NULL OR mass_kg <= CAST($max_mass_kg AS DOUBLE) AS ok_mass,
    theta_k_per_w <= $needed_k_per_w AS ok_theta,
    $trust_figures OR coalesce(theta_natural_k_per_w >= bound_k_per_w, TRUE) AS ok_plausible,

    height_m AS has_height,
    width_m AS has_width,
    depth_m AS has_depth,
    mass_kg AS has_mass,
    theta_k_per_w AS has_theta,
    theta_natural_k_per_w AS has_plausible,
    CAST($max_height_m AS DOUBLE) AS needs_height,
    CAST($max_width_m AS DOUBLE) AS needs_width,
    CAST($max_depth_m AS DOUBLE) AS needs_depth,
    CAST($max_mass_kg AS DOUBLE) AS needs_mass,
    $needed_k_per_w AS needs_theta,
    bound_k_per_w AS needs_plausible,

    theta_unmarked AND NOT blown AND theta_natural_k_per_w IS NOT NULL AS assumed_unmarked_theta,
    CAST($flow_m_per_s AS DOUBLE) IS NOT NULL AND NOT blown AND theta_natural_k_per_w IS NOT NULL
        AS assumed_still_air_figure,
    bound_k_per_w IS NULL OR theta_natural_k_per_w IS NULL AS assumed_not_cross_checked,
    $trust_figures AND theta_natural_k_per_w < bound_k_per_w AS assumed_trusted,

    theta_natural_k_per_w < bound_k_per_w AS remark_beyond_box,
    sink_degc > $touch_degc AS remark_hot_surface
FROM heated
