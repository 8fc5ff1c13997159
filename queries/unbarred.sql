-- The parts but those that are passed over by their key or, where no list held them when they were measured, by
-- their number.
SELECT *
FROM (
{{parts}}
) AS listed
WHERE part_key NOT IN ($barred_keys) AND lower(part_number) NOT IN ($barred_numbers)
