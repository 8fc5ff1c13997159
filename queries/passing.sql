-- The pairs whose part fits the need, with what parts are ranked by.
WITH judged AS (
{{judged}}
)

SELECT pair, {{keys}} FROM judged
WHERE {{passes}}
