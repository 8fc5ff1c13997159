-- All that the lists say of a part number, from whichever makers use it.
SELECT *
FROM parts_{{family}}
WHERE lower(part_number) = lower($part) AND ($maker IS NULL OR lower(maker) = lower($maker))
ORDER BY maker NULLS LAST, part_key
