-- The pairs whose part fits the need, with what parts are ranked by; where nothing keeps the others out, with them.
WITH judged AS (
{{judged}}
)

SELECT pair, {{keys}}, {{passes}} AS fits FROM judged
{{among}}
