-- How many parts are passed over because of what was measured of them.
SELECT count(*) AS parts
FROM parts_{{family}}
WHERE part_key IN ($barred_keys) OR lower(part_number) IN ($barred_numbers)
