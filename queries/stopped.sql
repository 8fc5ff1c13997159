-- How many parts each criterion stopped: a part counts under the first one that it fails; where it fails none,
-- under the first whose verdict is unknown and not accepted; else it fits.
WITH judged AS (
{{judged}}
),

sorted_out AS (
    SELECT
        CASE {{failed}} END AS failed,
        CASE {{unknown}} END AS unknown
    FROM judged
)

SELECT failed, CASE WHEN failed IS NULL THEN unknown END AS unknown, count(*) AS parts
FROM sorted_out
GROUP BY 1, 2
