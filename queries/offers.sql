-- What the suppliers ask for these parts.
SELECT
    {{besides}}
    part_key, supplier, order_number, currency, unit_price, least_quantity, multiple, stock, stock_note,
    packaging, life_cycle, lead_time, breaks
FROM {{offers}}
WHERE family = $family AND {{among}}
ORDER BY
    part_key, unit_price NULLS LAST, supplier, order_number NULLS LAST, packaging NULLS LAST, least_quantity NULLS LAST,
    multiple NULLS LAST, stock NULLS LAST, stock_note NULLS LAST, life_cycle NULLS LAST, lead_time NULLS LAST
