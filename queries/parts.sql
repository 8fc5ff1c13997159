-- Every part of the family; the need asks nothing of offers, so every part stands as if an offer met it (2).
SELECT *, 2 AS standing, CAST(NULL AS DOUBLE) AS least_price FROM {{parts}} AS parts
