-- How the offers of each part stand against what the need asks of one: 2 one offer meets it all, 1 one may (its
-- stock or price is not stated, or in another currency). Supplier, stock and price are judged on the same offer.
-- least_price is the cheapest of those that may meet it, in the currency in which prices are compared.
SELECT
    {{by}},
    max(CASE WHEN meets THEN 2 ELSE 1 END) AS standing,
    min(compared_price) AS least_price
FROM (
    SELECT
        {{by}},
        CASE WHEN currency = $price_currency THEN unit_price END AS compared_price,
        ($supplier_count = 0 OR lower(supplier) IN ($supplier))
            AND CASE WHEN $in_stock THEN stock > 0 ELSE TRUE END
            AND CASE
                WHEN $max_price IS NULL THEN TRUE WHEN currency = $currency THEN unit_price <= $max_price
            END AS meets
    FROM {{offers}} AS offers
    WHERE family = $family
) AS each_offer
WHERE coalesce(meets, TRUE)
GROUP BY {{by}}
