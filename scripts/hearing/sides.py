# SPDX-License-Identifier: GPL-3.0-or-later
"""The makers of a side: what code makes for reporting is other code than what it makes for fitting."""
import importlib


def makers_of(side):
    """Only the side's own makers are read."""
    return importlib.import_module("report_makers" if side == "report" else "makers")
