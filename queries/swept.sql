-- One part in each of several airs. Its key is the temperature of the air, by which the rows are told apart; the
-- family's query takes the air off its row.
SELECT listed.* REPLACE (air.degc AS part_key), CAST(air.degc AS DOUBLE) AS air_degc
FROM (
{{parts}}
) AS listed
CROSS JOIN (SELECT unnest([$airs_degc]) AS degc) AS air
