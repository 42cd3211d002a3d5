# SPDX-License-Identifier: GPL-3.0-or-later
"""The synthetic sounds of the fit and tune sides, under the same names as in `report_makers.py`."""
from impacts import Blows, Steps, debris, rub  # noqa: F401
from machines import MACHINES  # noqa: F401
from voices import alarm, bark, cough, cry, groan, horn, murmur, whistle  # noqa: F401

