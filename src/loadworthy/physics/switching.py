"""The gate and what switching costs: gate divider, transition times, losses, the freewheel diode, stored energy."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from loadworthy.physics._values import FloatOrArray, fraction, not_negative, plain, positive

__all__ = [
    "freewheel_current",
    "freewheel_loss",
    "gate_divider",
    "gate_loss",
    "inductive_energy",
    "switching_loss",
    "transition_times",
]


def gate_divider(*, pin_v: FloatOrArray, series_ohm: FloatOrArray, pulldown_ohm: FloatOrArray) -> FloatOrArray:
    """Gate voltage left behind a series resistor by a pull-down resistor at the gate.

    Parameters
    ----------
    pin_v
        Voltage of the driving pin, magnitude, V [V].
    series_ohm
        Resistor between pin and gate, Rs [Ω].
    pulldown_ohm
        Resistor between gate and source, Rp [Ω]; infinite where there is none.

    Returns
    -------
    float or numpy.ndarray
        Gate-source voltage, VGS [V].

    Raises
    ------
    UsageError
        If the voltage or the series resistor is negative, or the pull-down is not above zero.

    Notes
    -----
    VGS = V/(1 + Rs/Rp). Valid in the steady state, where the gate takes no current, and for a pull-down that
    sits at the gate: one on the pin's side of the series resistor takes nothing.

    References
    ----------
    The voltage divider; textbook.

    Examples
    --------
    A 5 V pin, 1 kΩ in series, 10 kΩ down:

    >>> round(gate_divider(pin_v=5.0, series_ohm=1e3, pulldown_ohm=1e4), 3)
    4.545
    """
    share = not_negative("series_ohm", series_ohm) / positive("pulldown_ohm", pulldown_ohm, infinite=True)
    return plain(not_negative("pin_v", pin_v) / (1.0 + share))


def transition_times(
    *, qgd_c: FloatOrArray, gate_ohm: FloatOrArray, drive_v: FloatOrArray, plateau_v: FloatOrArray
) -> tuple[FloatOrArray, FloatOrArray]:
    """Rise and fall times that a resistor in the gate's way allows.

    Parameters
    ----------
    qgd_c
        Gate-drain charge, Qgd [C].
    gate_ohm
        All resistance between the driver's voltage and the gate, the pin's own included, R [Ω].
    drive_v
        Gate drive voltage, Vdrive [V].
    plateau_v
        Gate voltage of the plateau at the load's current, Vplateau [V].

    Returns
    -------
    tuple of float or numpy.ndarray
        Rise time tr [s] and fall time tf [s]. A rise time of nan means that the drive does not get past the
        plateau: the transistor never turns fully on.

    Raises
    ------
    UsageError
        If a charge, resistance or drive is negative, or the plateau is not above zero.

    Notes
    -----
    tr = Qgd·R/(Vdrive − Vplateau), tf = Qgd·R/Vplateau. Valid where the resistor, not the driver or the
    inductance, sets the gate current, and where the driver pulls down to zero.

    References
    ----------
    Motorola TMOS handbook, gate drive and switching times.

    Examples
    --------
    10 nC through 100 Ω from 5 V, plateau at 3 V, in µs:

    >>> rise_s, fall_s = transition_times(qgd_c=10e-9, gate_ohm=100.0, drive_v=5.0, plateau_v=3.0)
    >>> round(1e6 * rise_s, 3), round(1e6 * fall_s, 3)
    (0.5, 0.333)
    """
    plateau = positive("plateau_v", plateau_v)
    headroom = not_negative("drive_v", drive_v) - plateau
    flux = not_negative("qgd_c", qgd_c) * not_negative("gate_ohm", gate_ohm)
    return plain(flux / np.where(headroom > 0.0, headroom, np.nan)), plain(flux / plateau)


def switching_loss(
    *,
    supply_v: FloatOrArray,
    current_a: FloatOrArray,
    rise_s: FloatOrArray,
    fall_s: FloatOrArray,
    pwm_hz: FloatOrArray,
    inductive: bool | npt.NDArray[np.bool_],
) -> FloatOrArray:
    """Mean loss while the transistor passes between on and off.

    Parameters
    ----------
    supply_v
        Voltage across the transistor while off, V [V].
    current_a
        Current while on, I [A].
    rise_s
        Time to turn on, ton [s].
    fall_s
        Time to turn off, toff [s].
    pwm_hz
        Switching frequency, f [Hz].
    inductive
        Whether the load is inductive and clamped by a diode (true) or resistive (false) [1].

    Returns
    -------
    float or numpy.ndarray
        Switching loss [W].

    Raises
    ------
    UsageError
        If a voltage, current, time or frequency is negative.

    Notes
    -----
    Inductive: P = ½·V·I·(ton + toff)·f, because the full current flows until the voltage has gone over.
    Resistive: one third of that, because voltage and current change together. Valid for linear transitions
    that are short against the period, (ton + toff)·f well under 1; avalanche in an unclamped load is not in
    it.

    References
    ----------
    ROHM application note AEK59-D1-0065-2, whose example (12 V, 3 A, 4 ns, 6 ns, 2 MHz) prints 360 mW; the
    third is the integral of v·i over linear edges (textbook).

    Examples
    --------
    >>> step = {"supply_v": 12.0, "current_a": 3.0, "rise_s": 4e-9, "fall_s": 6e-9, "pwm_hz": 2e6}
    >>> [round(1e3 * switching_loss(**step, inductive=kind)) for kind in (True, False)]
    [360, 120]
    """
    share = np.where(inductive, 1.0 / 2.0, 1.0 / 6.0)
    edges = not_negative("rise_s", rise_s) + not_negative("fall_s", fall_s)
    power = not_negative("supply_v", supply_v) * not_negative("current_a", current_a)
    return plain(share * power * edges * not_negative("pwm_hz", pwm_hz))


def gate_loss(*, drive_v: FloatOrArray, qg_c: FloatOrArray, pwm_hz: FloatOrArray) -> FloatOrArray:
    """Mean power that charging and discharging the gate takes from the driver.

    Parameters
    ----------
    drive_v
        Gate drive voltage, Vdrive [V].
    qg_c
        Gate charge at that voltage, Qg [C].
    pwm_hz
        Switching frequency, f [Hz].

    Returns
    -------
    float or numpy.ndarray
        Gate loss [W]; it arises in the driver and the gate resistor, not in the junction.

    Raises
    ------
    UsageError
        If a voltage, charge or frequency is negative.

    Notes
    -----
    P = Vdrive·Qg·f. Valid for a gate that is charged and discharged in full each period.

    References
    ----------
    TI SLVAED3A; figures in the example: ROHM application note AEK59-D1-0065-2, two gates, 20 mW.

    Examples
    --------
    >>> round(1e3 * 2 * gate_loss(drive_v=5.0, qg_c=1e-9, pwm_hz=2e6))
    20
    """
    return plain(not_negative("drive_v", drive_v) * not_negative("qg_c", qg_c) * not_negative("pwm_hz", pwm_hz))


def inductive_energy(*, inductance_h: FloatOrArray, current_a: FloatOrArray) -> FloatOrArray:
    """Energy that an inductive load gives back when it is switched off.

    Parameters
    ----------
    inductance_h
        Inductance of the load, L [H].
    current_a
        Current in the instant of switching off, I [A].

    Returns
    -------
    float or numpy.ndarray
        Energy [J]: what a diode across the load, or without one the transistor in avalanche, has to take.

    Raises
    ------
    UsageError
        If the inductance or the current is negative.

    Notes
    -----
    E = ½·L·I². Valid for an inductance that does not change with the current, less than a coil with an iron
    core has at small currents. In avalanche the supply feeds some more energy in while the current falls.

    References
    ----------
    The energy of a magnetic field; textbook.

    Examples
    --------
    A valve coil of 0.5 H at 0.4 A, in mJ:

    >>> round(1e3 * inductive_energy(inductance_h=0.5, current_a=0.4), 3)
    40.0
    """
    return plain(0.5 * not_negative("inductance_h", inductance_h) * not_negative("current_a", current_a) ** 2)


def freewheel_current(*, current_a: FloatOrArray, duty: FloatOrArray) -> FloatOrArray:
    """Mean current of the diode across an inductive load that is switched fast.

    Parameters
    ----------
    current_a
        Current of the load while it is switched on, I [A].
    duty
        Share of the time that it is switched on, D [1].

    Returns
    -------
    float or numpy.ndarray
        Mean forward current, IF(AV) [A].

    Raises
    ------
    UsageError
        If the current is negative, or the duty is not from 0 to 1.

    Notes
    -----
    IF(AV) = I·(1 − D). Valid as an upper bound: the current is taken to flow on undiminished through the whole off
    time, as it nearly does where a period is short against L/R.

    References
    ----------
    The current of a free-wheeling path; textbook.

    Examples
    --------
    >>> round(freewheel_current(current_a=3.0, duty=0.6), 3)
    1.2
    """
    return plain(not_negative("current_a", current_a) * (1.0 - fraction("duty", duty)))


def freewheel_loss(*, forward_v: FloatOrArray, current_a: FloatOrArray, duty: FloatOrArray) -> FloatOrArray:
    """Mean heat that the diode across an inductive load makes while it conducts.

    Parameters
    ----------
    forward_v
        Forward voltage at a current not below the load's, VF [V].
    current_a
        Current of the load while it is switched on, I [A].
    duty
        Share of the time that it is switched on, D [1].

    Returns
    -------
    float or numpy.ndarray
        Conduction loss, P [W].

    Raises
    ------
    UsageError
        If the voltage or the current is negative, or the duty is not from 0 to 1.

    Notes
    -----
    P = VF·I·(1 − D), with the mean current of :func:`freewheel_current`. Valid as an upper bound for silicon, whose
    forward voltage falls as it warms; what recovery and hot leakage add is not in it.

    References
    ----------
    The loss of a conducting rectifier, letter symbols of IEC 60747-2; textbook.

    Examples
    --------
    >>> round(freewheel_loss(forward_v=0.55, current_a=3.0, duty=0.6), 3)
    0.66
    """
    return plain(np.asarray(not_negative("forward_v", forward_v) * freewheel_current(current_a=current_a, duty=duty)))
