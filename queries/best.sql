-- The parts that fit each of some needs best, and all that tie with the last of them: only what they are ranked by.
WITH judged AS (
{{judged}}
),

fitting AS (
    SELECT need, part_key, {{keys}} FROM judged
    WHERE {{passes}}
),

ordered AS (
    SELECT need, part_key, {{keys}}, rank() OVER (PARTITION BY need ORDER BY {{order}}) AS position FROM fitting
)

SELECT need, part_key, {{keys}} FROM ordered
WHERE position <= $top
