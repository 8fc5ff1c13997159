-- What suppliers ask for the part of each pair, beside what its need asks of an offer.
(
    SELECT many_pairs.pair, many_asked.* EXCLUDE (need), many_offers.* EXCLUDE (place)
    FROM many_pairs
    INNER JOIN many_asked ON many_asked.need = many_pairs.need
    INNER JOIN many_offers ON many_offers.place = many_pairs.place
)
