-- The figure at one drive below whose promise no part's loss can lie, with the part's place.
WITH judged AS (
{{judged}}
)

SELECT place, {{floor}} AS least FROM judged
WHERE $let_drive OR {{floor}} IS NOT NULL
