-- Every figure and verdict of pairs that are known to fit.
WITH judged AS (
{{judged}}
)

SELECT * EXCLUDE ({{asked}}) FROM judged ORDER BY pair
