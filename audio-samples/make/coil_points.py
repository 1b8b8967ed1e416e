#!/usr/bin/env python3
"""Computes the bench points that stand in [measured] of the profiles in audio-samples/coils/.

    python3 audio-samples/make/coil_points.py            # prints them beside those in the files; exit 1 if they differ

The coils are invented, so their "measurements" are computed: the primary and secondary tanks as a linear system,
propagated exactly (eigenvalues of the state matrix) between the switchings of a square drive that follows the
zero crossings of the primary current (series-resonant) or of the secondary's base current (untuned), each switching
one commutation delay after its crossing; where the driver stops at zero, a burst runs on to the end of its half cycle. State [i1, vc1, i2, vc2]:

    L1 i1' + M i2' = v - R1 i1 - vc1        M i1' + L2 i2' = -R2 i2 - vc2
    C1 vc1' = i1                            C2 vc2' = i2 - vc2 / Rload

An untuned primary has no vc1. v is the bus for a full bridge and a push-pull pair, half the bus for a half bridge.
R1 is the tank's and the switches' together. Points are rounded to three figures, as one reads them off a scope.
Needs numpy and Python 3.11.
"""
import math
import pathlib
import sys
import tomllib

import numpy as np

STEPS_A_CYCLE = 64


def switch_ohms(profile):
    """What the conducting switches add to the tank: two in series in a full bridge, else one."""
    switch = profile["switch"]
    one = switch.get("rds_on_mohm", switch.get("vce_slope_mohm", 0)) / 1000 / switch["parallel"]
    return one * (2 if profile["drive"]["bridge"] == "full" else 1)


def system(profile, loaded):
    """State matrix, the steady state for 1 V, and which state the driver watches."""
    first, second, drive = profile["primary"], profile["secondary"], profile["drive"]
    l1, l2 = first["inductance_uh"] * 1e-6, second["inductance_mh"] * 1e-3
    w2 = 2 * math.pi * second["resonance_khz"] * 1e3
    c2, r2 = 1 / (w2 * w2 * l2), w2 * l2 / second["quality_factor"]
    m = second["coupling"] * math.sqrt(l1 * l2)
    r1 = first["resistance_ohm"] + switch_ohms(profile)
    load = 1 / (second["streamer_load_kohm"] * 1e3) if loaded else 0
    tuned = drive["primary"] == "series-resonant"
    c1 = first["capacitance_nf"] * 1e-9 if tuned else None
    inductances = np.linalg.inv(np.array([[l1, m], [m, l2]]))
    # Columns i1, vc1, i2, vc2 of the two voltage equations, then of the capacitors'.
    voltages = inductances @ np.array([[-r1, -1 if tuned else 0, 0, 0], [0, 0, -r2, -1]])
    a = np.zeros((4, 4))
    a[0], a[2] = voltages
    a[1, 0] = 1 / c1 if tuned else 0
    a[3, 2], a[3, 3] = 1 / c2, -load / c2
    drive_in = np.zeros(4)
    drive_in[0], drive_in[2] = inductances @ np.array([1, 0])
    if not tuned:  # without vc1 its row is empty: keep it, decaying, so that the matrix has an inverse
        a[1, 1] = -w2
    return a, np.linalg.solve(a, -drive_in), 0 if tuned else 2, w2 / (2 * math.pi)


def propagator(a):
    values, vectors = np.linalg.eig(a)
    inverse = np.linalg.inv(vectors)
    return lambda t: ((vectors * np.exp(values * t)) @ inverse).real


def burst(profile, on_times_us, loaded):
    """Peak |i1| (A), peak |vc1| (V) and energy from the bus (J) at each on-time of one long burst."""
    drive = profile["drive"]
    a, steady, watched, f2 = system(profile, loaded)
    volts = drive["bus_v"] / (2 if drive["bridge"] == "half" else 1)
    after = propagator(a)
    step = 1 / f2 / STEPS_A_CYCLE
    one_step = after(step)
    x, v, t, delay = np.zeros(4), volts, 0.0, drive["commutation_delay_ns"] * 1e-9
    switchings, peaks, rows = [], np.zeros(4), []
    energy = 0.0

    def go_on(end, stop_at_switching=False):
        nonlocal x, v, t, peaks, energy
        while t < end - 1e-15:
            until = min([end] + switchings[:1])
            h = min(step, until - t)
            matrix = one_step if h == step else after(h)
            moved = steady * v + matrix @ (x - steady * v)
            if x[watched] * moved[watched] < 0:  # both tanks are smooth inside a step: one crossing, by bisection
                low, high = 0.0, h
                for _ in range(40):
                    middle = (low + high) / 2
                    there = steady * v + after(middle) @ (x - steady * v)
                    low, high = (middle, high) if x[watched] * there[watched] > 0 else (low, middle)
                switchings.append(t + high + delay)
                if delay == 0 or t + high + delay < t + h:
                    h = max(high + delay, 1e-15)
                    moved = steady * v + after(h) @ (x - steady * v)
            energy += v * (x[0] + moved[0]) / 2 * h
            x, t = moved, t + h
            peaks = np.maximum(peaks, np.abs(x))
            switched = False
            while switchings and switchings[0] <= t + 1e-15:
                switchings.pop(0)
                v = -v
                switched = True
            if switched and stop_at_switching:
                return

    for end in (on * 1e-6 for on in on_times_us):
        go_on(end)
        if not drive["stops_at_zero"]:
            rows.append((peaks[0], peaks[1], energy))
            continue
        kept = x, v, t, list(switchings), peaks, energy  # this burst runs on to the end of its half cycle
        go_on(end + 1 / f2, stop_at_switching=True)
        rows.append((peaks[0], peaks[1], energy))
        x, v, t, switchings[:], peaks, energy = kept
    return rows


def rounded(value):
    return float(f"{value:.3g}")


def report(path):
    profile = tomllib.loads(path.read_text())
    measured, limits = profile["measured"], profile["limits"]
    times = measured["on_time_us"]
    rows = burst(profile, times, measured["loaded"])
    points = [rounded(row[0]) for row in rows]
    print(f"{path.name}: computed {points}")
    print(f"  in the file {measured['peak_current_a']}")
    for loaded in (True, False):
        peak, tank, energy = burst(profile, [limits["on_time_us"]["max"]], loaded)[0]
        mean = energy / (limits["on_time_us"]["max"] * 1e-6) * limits["duty"][-1]["percent"] / 100
        print(f"  longest burst, {'loaded' if loaded else 'unloaded'}: {peak:.1f} A, tank {tank:.0f} V, "
              f"{energy * 1e3:.3g} mJ, {mean:.1f} W at the longest window's duty")
    return points == [float(p) for p in measured["peak_current_a"]]


def main():
    folder = pathlib.Path(__file__).resolve().parent.parent / "coils"
    same = [report(path) for path in sorted(folder.glob("*.toml"))]
    return 0 if all(same) and same else 1


if __name__ == "__main__":
    sys.exit(main())
