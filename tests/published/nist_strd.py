"""Data and certified values of NIST's Statistical Reference Datasets, typed in.

Source: NIST/ITL StRD, https://www.itl.nist.gov/div898/strd/ (public domain). `PONTIUS` is the
load-cell calibration of P. Pontius (NIST): load, deflection. `NORRIS` is the ozone monitor
calibration of J. Norris (NIST): customer's value, NIST's value.
"""

from __future__ import annotations

_FIRST = (
    0.11019, 0.21956, 0.32949, 0.43899, 0.54803, 0.65694, 0.76562, 0.87487, 0.98292, 1.09146,
    1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
)  # fmt: skip
_SECOND = (
    0.11052, 0.22018, 0.32939, 0.43886, 0.54798, 0.65739, 0.76596, 0.87474, 0.98300, 1.09150,
    1.20004, 1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
)  # fmt: skip
_LOADS = tuple(150000.0 * k for k in range(1, 21))

PONTIUS = (_LOADS + _LOADS, _FIRST + _SECOND)
PONTIUS_CERTIFIED = (0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14)
PONTIUS_ERRORS = (0.107938612033077e-3, 0.157817399981659e-9, 0.486652849992036e-16)
PONTIUS_RESIDUAL_SD = 0.205177424076185e-3

NORRIS = (
    (
        0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4,
        0.6, 775.5, 666.9, 338.0, 447.5, 11.6, 556.0, 228.1, 995.8, 887.6, 120.2, 0.3,
        0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
    ),
    (
        0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3,
        0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998.0, 888.8, 119.6, 0.3,
        0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
    ),
)  # fmt: skip
NORRIS_CERTIFIED = (-0.262323073774029, 1.00211681802045)
NORRIS_ERRORS = (0.232818234301152, 0.429796848199937e-3)
NORRIS_RESIDUAL_SD = 0.884796396144373

SIRSTV_WITHIN_SD = 0.104076068334656
