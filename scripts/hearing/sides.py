# SPDX-License-Identifier: GPL-3.0-or-later
"""The makers of a side. Reporting uses other code for synthetic sounds than fitting."""
import importlib


def makers_of(side):
    """Imports only the side's own makers."""
    return importlib.import_module("report_makers" if side == "report" else "makers")
