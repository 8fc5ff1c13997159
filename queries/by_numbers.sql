-- All that the lists say of these part numbers.
SELECT * FROM parts_{{family}} WHERE lower(part_number) IN ($part) ORDER BY maker NULLS LAST, part_key
