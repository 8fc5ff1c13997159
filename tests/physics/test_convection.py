"""Still air and the bound on heat sinks, held against `ht`, `fluids`, a table of air and the relation of Elenbaas.

Marks beside the published values: *read* – read in the source; *memory* – recalled, so never the only check.
"""

from __future__ import annotations

import math

import fluids
import ht
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from loadworthy.physics import convection

# Air at 1 atm, Incropera, table A.4 (memory): K, kg/m³, Pa·s, W/(m·K).
AIR = (
    (250.0, 1.3947, 159.6e-7, 22.3e-3),
    (300.0, 1.1614, 184.6e-7, 26.3e-3),
    (350.0, 0.9950, 208.2e-7, 30.0e-3),
    (400.0, 0.8711, 230.1e-7, 33.8e-3),
)

boxes = st.fixed_dictionaries(
    {
        **{name: st.floats(0.01, 0.2) for name in ("width_m", "height_m", "depth_m")},
        "rise_k": st.floats(10.0, 100.0),
        "air_degc": st.floats(-20.0, 70.0),
    }
)


class TestAir:
    """Density, viscosity and conductivity."""

    @pytest.mark.parametrize(("kelvin", "density", "viscosity", "conductivity"), AIR)
    def test_meets_a_textbook_s_table(
        self, kelvin: float, density: float, viscosity: float, conductivity: float
    ) -> None:
        """Within 1.5 %: the table's density is that of a slightly lower pressure."""
        found = convection.air_properties(air_degc=kelvin - 273.15)
        assert found == pytest.approx((density, viscosity, conductivity), rel=0.015)

    @pytest.mark.parametrize("kelvin", [230.0, 273.15, 300.0, 400.0])
    def test_meets_the_standard_atmosphere(self, kelvin: float) -> None:
        """`fluids`, U.S. Standard Atmosphere 1976."""
        found = convection.air_properties(air_degc=kelvin - 273.15)
        atmosphere = fluids.ATMOSPHERE_1976
        expected = (
            atmosphere.density(kelvin, 101325.0),
            atmosphere.viscosity(kelvin),
            atmosphere.thermal_conductivity(kelvin),
        )
        assert found == pytest.approx(expected, rel=1e-3)


class TestFilms:
    """Convection on a plate, and radiation."""

    def test_the_oracle_gives_the_textbook_s_plate(self) -> None:
        """`ht` meets Incropera, example 9.2 (read): Nu 147.16 at Pr 0.69 and Gr 2.63e9."""
        assert ht.Nu_vertical_plate_Churchill(0.69, 2.63e9) == pytest.approx(147.16, abs=0.005)

    @pytest.mark.parametrize("length", [0.01, 0.05, 0.3])
    def test_a_plate_meets_the_oracle_with_a_textbook_s_air(self, length: float) -> None:
        """60 K above air of 46.85 °C: the mean is 350 K (table A.4, memory), ν 20.92e-6 m²/s, Pr 0.700."""
        grashof = 9.81 / 350.0 * 60.0 * length**3 / 20.92e-6**2
        expected = ht.Nu_vertical_plate_Churchill(0.700, grashof) * 30.0e-3 / length
        found = convection.plate_film(flow_length_m=length, rise_k=60.0, air_degc=46.85)
        assert found == pytest.approx(expected, rel=0.01)

    def test_a_black_body_radiates_what_the_oracle_says(self) -> None:
        """`ht` (read): a black body of 400 K radiates 1451.6 W/m²; both ways between 400 and 300 K."""
        assert ht.q_rad(1, 400) == pytest.approx(1451.6, abs=0.05)
        film = convection.radiation_film(emissivity=1.0, rise_k=100.0, air_degc=300.0 - 273.15)
        assert 100.0 * film == pytest.approx(ht.q_rad(1, 400, 300), rel=1e-5)

    def test_a_grey_body_radiates_its_emissivity_s_share(self) -> None:
        """In proportion; what reflects everything gives nothing off."""
        black, grey, mirror = (
            convection.radiation_film(emissivity=share, rise_k=40.0, air_degc=25.0) for share in (1.0, 0.3, 0.0)
        )
        assert grey == pytest.approx(0.3 * black)
        assert mirror == 0.0


def rayleigh_per_m4(rise_k: float, air_degc: float) -> tuple[float, float]:
    """Give Ra/L³·(1/m³) and the conductivity of air, from the standard atmosphere of `fluids`."""
    kelvin = air_degc + 273.15 + rise_k / 2.0
    atmosphere = fluids.ATMOSPHERE_1976
    density = atmosphere.density(kelvin, 101325.0)
    viscosity, conductivity = atmosphere.viscosity(kelvin), atmosphere.thermal_conductivity(kelvin)
    return 9.80665 / kelvin * rise_k * density**2 * 1006.0 / (viscosity * conductivity), conductivity


def best_fins(box: dict[str, float]) -> tuple[float, float]:
    """Sweep the spacing with the relation of Elenbaas: the best spacing in m and its conductance in W/K."""
    length = min(box["width_m"], box["height_m"], box["depth_m"])
    volume = box["width_m"] * box["height_m"] * box["depth_m"]
    per_m3, conductivity = rayleigh_per_m4(box["rise_k"], box["air_degc"])
    spacing = np.geomspace(length / 200.0, length * 5.0, 4000)
    elenbaas = per_m3 * spacing**4 / length
    nusselt = (576.0 / elenbaas**2 + 2.873 / np.sqrt(elenbaas)) ** -0.5
    # Every fin has two faces, and there is one fin to each spacing.
    conductance = nusselt * conductivity / spacing * 2.0 * volume / spacing
    best = int(np.argmax(conductance))
    return float(spacing[best]), float(conductance[best])


class TestBound:
    """The least thermal resistance of a box."""

    @given(boxes)
    def test_no_spacing_of_fins_beats_the_bound_s_own(self, box: dict[str, float]) -> None:
        """The best of a sweep with Elenbaas' relation is the closed form within 1 % (its constants are rounded).

        The rest of the bound, the outside of the box, is taken off with films that are tested above.
        """
        length = min(box["width_m"], box["height_m"], box["depth_m"])
        air = {"rise_k": box["rise_k"], "air_degc": box["air_degc"]}
        width, height, depth = box["width_m"], box["height_m"], box["depth_m"]
        outside = 2.0 * (width * height + width * depth + height * depth)
        film = convection.plate_film(flow_length_m=length, **air) + convection.radiation_film(emissivity=1.0, **air)
        fins = 1.0 / convection.natural_convection_bound(**box) - outside * film
        spacing, conductance = best_fins(box)
        assert fins == pytest.approx(conductance, rel=0.01)
        assert convection.fin_spacing(flow_length_m=length, **air) == pytest.approx(spacing, rel=0.02)

    @given(boxes)
    def test_no_bare_plate_in_the_box_beats_the_bound(self, box: dict[str, float]) -> None:
        """The greatest face as a black plate with two sides, by `ht` and the standard atmosphere."""
        for upright, across in ((box["height_m"], box["width_m"]), (box["width_m"], box["height_m"])):
            per_m3, conductivity = rayleigh_per_m4(box["rise_k"], box["air_degc"])
            film = ht.Nu_vertical_plate_Churchill(0.71, per_m3 * upright**3 / 0.71) * conductivity / upright
            hot = box["air_degc"] + 273.15 + box["rise_k"]
            film += ht.q_rad(1, hot, hot - box["rise_k"]) / box["rise_k"]
            plate = 1.0 / (2.0 * upright * across * film)
            assert convection.natural_convection_bound(**box) < plate

    @given(boxes, st.sampled_from(["width_m", "height_m", "depth_m"]))
    def test_half_a_box_does_more_than_half_of_what_the_whole_does_and_less_than_all_of_it(
        self, box: dict[str, float], side: str
    ) -> None:
        """Shorter fins and more outside for the same volume, but less volume."""
        half = box | {side: box[side] / 2.0}
        whole = 1.0 / convection.natural_convection_bound(**box)
        assert whole / 2.0 < 1.0 / convection.natural_convection_bound(**half) < whole

    @given(boxes)
    def test_it_does_not_matter_which_side_is_called_the_width(self, box: dict[str, float]) -> None:
        """The bound takes the most generous way up."""
        turned = box | {"width_m": box["depth_m"], "height_m": box["width_m"], "depth_m": box["height_m"]}
        assert convection.natural_convection_bound(**turned) == pytest.approx(
            convection.natural_convection_bound(**box)
        )

    def test_a_small_clip_on_sink_of_a_common_figure_is_believed(self) -> None:
        """19 × 13 × 13 mm sold as 25 to 30 K/W (memory); one sold as 5 K/W is not. 60 K above air of 40 °C."""
        bound = convection.natural_convection_bound(
            width_m=0.019, height_m=0.013, depth_m=0.013, rise_k=60.0, air_degc=40.0
        )
        assert 5.0 < bound < 25.0

    def test_hotter_sinks_give_off_more(self) -> None:
        """The bound falls with the rise, so a figure stated at a great rise flatters."""
        box = {"width_m": 0.05, "height_m": 0.05, "depth_m": 0.03, "air_degc": 40.0}
        bounds = convection.natural_convection_bound(**box, rise_k=np.linspace(5.0, 100.0, 20))
        assert np.all(np.diff(bounds) < 0.0)
        assert math.isclose(bounds[0], convection.natural_convection_bound(**box, rise_k=5.0), rel_tol=1e-12)
