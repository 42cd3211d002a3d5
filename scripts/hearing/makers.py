# SPDX-License-Identifier: GPL-3.0-or-later
"""What code makes on the fit and tune sides, under the names that `report_makers.py` has too."""
from impacts import Blows, Steps, debris, rub  # noqa: F401
from machines import MACHINES  # noqa: F401
from voices import alarm, bark, cough, cry, groan, horn, murmur, whistle  # noqa: F401

