-- What of every transistor decides whether it is looked at where many needs are asked at once, whatever its drive. All of
-- it comes from the family's own query, put with the kindest values of what a need may ask; nothing is judged here.
WITH judged AS (
{{judged}}
)

SELECT
    place,
    channel,
    package,
    leaded,
    vds_v,
    vgs_max_v,
    vgs_th_max_v,
    id_a,
    id_pulse_a,
    still_air_k_per_w,
    rthjc_k_per_w + rthcs_k_per_w AS to_sink_k_per_w,
    hot_exponent
FROM judged
