-- Every part of the family with the standing of its offers, which is 0 where none may meet what the need asks of
-- one. Where nothing is asked every part stands as if an offer met it.
SELECT
    parts.*,
    CASE WHEN $offer_asked THEN coalesce(offers.standing, 0) ELSE 2 END AS standing,
    offers.least_price
FROM {{parts}} AS parts
LEFT JOIN (
{{standings}}
) AS offers ON offers.{{by}} = parts.{{by}}
