"""The whole job as a page on this computer: needs, boards, orders, measurements and the catalogue.

The state of what one works on stands in the address (:mod:`~loadworthy.web.state`), so a page can be bookmarked and
two pages open at once have nothing to do with one another. What the server changes it changes by POST alone, and
nothing but the catalogue that it was given. Templates and figures are those of :mod:`loadworthy.report`; nothing is
computed here.
"""
