-- What was measured and kept, summed up by part and supplier. A sample is outside where one of its figures is, and
-- within where all are.
WITH samples AS (
    SELECT
        session,
        piece,
        any_value(family) AS family,
        any_value(part_key) AS part_key,
        any_value(maker) AS maker,
        any_value(part_number) AS part_number,
        any_value(supplier) AS supplier,
        any_value(measured_on) AS measured_on,
        bool_or(verdict = 'outside') AS outside,
        bool_and(verdict = 'within') AS within
    FROM measured
    WHERE $family IS NULL OR family = $family
    GROUP BY session, piece
)

SELECT
    family,
    part_key,
    any_value(maker) AS maker,
    any_value(part_number) AS part_number,
    any_value(supplier) AS supplier,
    count(*) AS samples,
    count_if(within) AS within,
    count_if(outside) AS outside,
    count_if(NOT within AND NOT outside) AS not_decided,
    min(measured_on) AS first_on,
    max(measured_on) AS last_on
FROM samples
GROUP BY family, part_key, lower(part_number), lower(supplier)
ORDER BY family, lower(any_value(part_number)), lower(any_value(supplier)), part_key
