-- Each pair of a need and a part that may be good for it: what the need asks beside what the part has.
(
    SELECT many_pairs.pair, many_asked.* EXCLUDE (need), opened.*
    FROM many_pairs
    INNER JOIN many_asked ON many_asked.need = many_pairs.need
    INNER JOIN {{opened}} AS opened ON opened.place = many_pairs.place
)
