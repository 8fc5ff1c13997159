-- Who offers anything.
SELECT DISTINCT supplier FROM offers ORDER BY supplier
