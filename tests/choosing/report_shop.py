"""A small catalogue from which the greenhouse's board is mended: offers by two suppliers, and a measurement kept."""

from __future__ import annotations

from datetime import date

from board_parts import blade, catalog_of, lead, mosfet, terminal
from path_catalogs import SmallCatalog

from loadworthy.bench import measure
from loadworthy.bench.records import keep_records

__all__ = ["DAY", "ORDER", "report_shop"]

DAY = date(2025, 3, 14)
#: Something to buy there: a need and a part.
ORDER = """
title = "What the greenhouse buys"
currency = "EUR"
boards = 3
[[line]]
name = "a switch for the drawer"
quantity = 1
[line.need]
family = "transistor"
supply = "12V"
current = "3A"
drive = "5V"
[[line]]
part = "B-10"
quantity = 2
[terms.Sparrowgate]
shipping = [["0", "3.20"]]
"""
#: Measured at 25 °C, in a pulse, with four wires: 1.9 mΩ, within the 2 mΩ that is claimed.
_MEASURED = {"drop": "11.4mV", "current": "6.000A", "gate": "4.5V", "temp": "25degC", "pulse": "300us"}


def report_shop() -> SmallCatalog:
    """Make the catalogue."""
    parts = {
        "connector": [terminal(f"T-{amperes:g}", amperes, contact_ohm=1e-3 / amperes) for amperes in (8.0, 16.0, 41.0)],
        "fuse": [blade(f"B-{rating:g}", rating) for rating in (3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0)],
        "wire": [lead(f"W-{mm2:g}", mm2) for mm2 in (0.5, 1.5, 2.5, 4.0)],
        "transistor": [
            mosfet("M-best", {4.5: 0.002}),
            mosfet("M-second", {4.5: 0.004, 10.0: 0.003}),
            mosfet("M-third", {4.5: 0.006}),
            mosfet("M-fourth", {4.5: 0.007}),
            mosfet("M-10V", {10.0: 0.001}),
            mosfet("M-low", {4.5: 0.003}, vds_v=15.0),
        ],
    }
    offers = [
        {
            "part_key": f"{part['maker']}|{part['part_number']}",
            "family": family,
            "supplier": supplier,
            "order_number": f"{supplier[0]}-{part['part_number']}",
            "currency": "EUR",
            "unit_price": price,
            "stock": 500,
        }
        for family, listed in parts.items()
        for part in listed
        for supplier, price in (("Sparrowgate", 0.5), ("Tidemill", 0.7))
    ]
    catalog = catalog_of(offers=offers, **parts)
    found = measure("transistor", _MEASURED, part="M-best", catalog=catalog, kelvin=True)
    keep_records(catalog, found, supplier="Sparrowgate", measured_on=DAY)
    return catalog
