-- All that the lists say of one part.
SELECT * FROM parts_{{family}} WHERE part_key = $part_key
