-- The parts that fit each of some needs best, and all that tie with the last of them: only what they are ranked by.
-- Whether a part fits is worked out before parts are ordered and asked for behind it: an engine that asks for it as early
-- as it can would write the physics out again for every criterion.
WITH judged AS (
{{judged}}
),

fitting AS (
    SELECT
        need,
        part_key,
        {{keys}},
        coalesce(
            {{passes}},
            FALSE
        ) AS fits
    FROM judged
),

ordered AS (
    SELECT *, rank() OVER (PARTITION BY need ORDER BY fits DESC, {{order}}) AS position FROM fitting
)

SELECT need, part_key, {{keys}} FROM ordered
WHERE fits AND position <= $top
