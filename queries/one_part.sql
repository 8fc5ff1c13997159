-- One part number, from whichever makers use it.
WITH judged AS (
{{judged}}
)

SELECT * FROM judged
WHERE lower(part_number) = lower($part) AND ($maker IS NULL OR lower(maker) = lower($maker))
ORDER BY maker NULLS LAST, part_key
