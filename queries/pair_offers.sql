-- What suppliers ask for the part of each pair, beside what its need asks of an offer.
(
    SELECT many_pairs.pair, many_asked.* EXCLUDE (need), offered.* EXCLUDE (place)
    FROM many_pairs
    INNER JOIN many_asked ON many_asked.need = many_pairs.need
    INNER JOIN {{offered}} AS offered ON offered.place = many_pairs.place
)
