-- What suppliers ask for these parts, with the date of the list that says so. Where lists of one supplier give the
-- same offer twice, the later counts.
SELECT
    part_key, supplier, order_number, currency, unit_price, breaks, least_quantity, multiple, stock, stock_at_least,
    stock_note, packaging, life_cycle, lead_time, dated, date_stated
FROM (
    SELECT
        offers.*,
        coalesce(lists.stated_date, CAST(lists.taken_in AS DATE)) AS dated,
        lists.stated_date IS NOT NULL AS date_stated,
        row_number() OVER (
            PARTITION BY offers.part_key, offers.supplier, offers.order_number, offers.packaging
            ORDER BY coalesce(lists.stated_date, CAST(lists.taken_in AS DATE)) DESC, offers.list_id DESC, offers.record
        ) AS place
    FROM offers
    LEFT JOIN lists ON lists.list_id = offers.list_id
    WHERE offers.family = $family AND offers.part_key IN ($part_key)
) AS dated_offers
WHERE place = 1
ORDER BY part_key, supplier, order_number NULLS FIRST, packaging NULLS FIRST
