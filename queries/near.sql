-- The nearest misses: parts stopped by one numeric criterion and nothing else (what rests on it is not counted),
-- the least relative shortfall first. Rows without a criterion are no misses and come last; they are not
-- filtered out here, because a filter on it would be worked out once more for every level below.
WITH judged AS (
{{judged}}
),

blocked AS (
    SELECT
        *,
        {{blocks}}
    FROM judged
),

missed AS (
    SELECT *, CASE {{missed}} END AS criterion FROM blocked
),

measured AS (
    SELECT
        *,
        CASE criterion {{has}} END AS has,
        CASE criterion {{needs}} END AS needs
    FROM missed
)

SELECT *, abs(has - needs) / nullif(abs(needs), 0e0) AS shortfall
FROM measured
ORDER BY criterion IS NULL, shortfall NULLS LAST, {{order}}
LIMIT $limit
