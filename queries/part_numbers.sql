-- Part numbers that hold a piece of text, to suggest to somebody who mistyped one.
SELECT DISTINCT part_number
FROM parts_{{family}}
WHERE position(lower($piece) IN lower(part_number)) > 0
ORDER BY part_number
LIMIT 5000
