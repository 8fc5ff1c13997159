-- Of the parts only those named by their key or, where no list held them when they were measured, by their number.
SELECT *
FROM (
{{parts}}
) AS listed
WHERE part_key IN ($only_keys) OR lower(part_number) IN ($only_numbers)
