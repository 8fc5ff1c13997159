-- How good the best parts are at the least: the ranking's first key among the few with the lowest floor. What
-- the ranked list may look at is bounded by it.
WITH judged AS (
{{judged}}
)

SELECT {{key}} AS bound FROM judged WHERE {{passes}} ORDER BY {{key}} LIMIT $top
