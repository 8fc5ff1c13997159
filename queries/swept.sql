-- One part in each of several airs: the family's query takes the air off its row, as of many needs at once.
(
    SELECT listed.*, CAST(airs.degc AS DOUBLE) AS asked_ambient_degc
    FROM {{parts}} AS listed
    CROSS JOIN (SELECT unnest([$airs_degc]) AS degc) AS airs
    WHERE listed.part_key = $swept_key
)
