-- What was measured and kept, summed up by part and supplier. A sample is outside where one of its figures is, and
-- within where all are.
WITH samples AS (
    SELECT
        session,
        piece,
        min(family) AS family,
        min(part_key) AS part_key,
        min(maker) AS maker,
        min(part_number) AS part_number,
        min(supplier) AS supplier,
        min(measured_on) AS measured_on,
        bool_or(verdict = 'outside') AS outside,
        bool_and(verdict = 'within') AS within
    FROM measured
    WHERE $family IS NULL OR family = $family
    GROUP BY session, piece
),

summed AS (
    SELECT
        family,
        part_key,
        min(maker) AS maker,
        min(part_number) AS part_number,
        min(supplier) AS supplier,
        count(*) AS samples,
        count_if(within) AS within,
        count_if(outside) AS outside,
        count_if(NOT within AND NOT outside) AS not_decided,
        min(measured_on) AS first_on,
        max(measured_on) AS last_on
    FROM samples
    GROUP BY family, part_key, lower(part_number), lower(supplier)
)

SELECT * FROM summed ORDER BY family, lower(part_number), lower(supplier), part_key
