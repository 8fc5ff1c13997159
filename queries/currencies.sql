-- The currency that most offers of a family are priced in.
SELECT currency
FROM listed_offers
WHERE family = $family AND unit_price IS NOT NULL AND currency IS NOT NULL
GROUP BY currency
ORDER BY count(*) DESC, currency
LIMIT 1
