-- Every part of the family beside each of some needs: what the need asks, and what the part has.
(
    SELECT many_crossed.*, listed.*
    FROM {{parts}} AS listed
    CROSS JOIN many_crossed
)
