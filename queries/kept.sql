-- Every figure that was measured of some parts and kept, the last session first.
SELECT part_number, maker, supplier, measured_on, session, piece, sample, figure, unit, value, low, high, claimed_least, claimed_most, verdict
FROM measured
WHERE family = $family AND (part_key IN ($part_key) OR (part_key IS NULL AND lower(part_number) IN ($part_number)))
ORDER BY measured_on DESC, session DESC, piece, figure
