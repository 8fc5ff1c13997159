-- Who offers anything.
SELECT DISTINCT supplier FROM listed_offers ORDER BY supplier
