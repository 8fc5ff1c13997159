-- The parts that fit, the best first. Each criterion is a plain filter.
WITH judged AS (
{{judged}}
)

SELECT * FROM judged
WHERE {{passes}}
ORDER BY {{order}}
LIMIT $limit
