#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The page against the rules of axe-core (WCAG 2.2, levels A and AA), on a desk and on a phone, with
light and dark, everything opened; and at 200 % zoom."""
import os
import sys

import harness
from browser import AXE, PHONE, WithBrowser

if not AXE:
    print("SKIPPED: axe-core is not installed (scripts/setup test fetches it with npm into build/axe)")
    sys.exit(77)


class Access(WithBrowser):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.review = cls.review_demo("review", "--list-from", "0.85")  # few of each kind of thing
        cls.blind = cls.review_demo("blind", "--blind")

    def opened(self, folder):
        self.open(folder)
        self.until(lambda: self.chromium.execute_script(
            "return document.querySelector('#look canvas').dataset.drawn !== undefined"), "the desk")

    def test_the_page_light_and_dark_with_a_find_judged(self):
        for look in ("light", "dark"):
            self.opened(self.review)
            self.chromium.execute_script("""
                localStorage.setItem("lull-look", arguments[0]);
                localStorage.setItem("lull-reviewer", "R1");""", look)
            self.opened(self.review)
            self.until(lambda: self.count("article.current svg"), "the find in hand")
            self.press("a")
            self.until(lambda: self.count("#noted td"), "its judgement")
            self.check_access()
            self.chromium.execute_script("localStorage.clear()")

    def test_the_page_on_a_phone(self):
        self.as_phone()
        self.opened(self.review)
        self.check_access()

    def test_the_summary(self):
        self.chromium.get("file://" + os.path.join(self.review, "summary.html"))
        self.check_access(least_rules=8)

    def test_the_blind_page_on_both(self):
        for phone in (False, True):
            if phone:
                self.as_phone()
            self.opened(self.blind)
            self.check_access()

    def test_the_check_detects_faults(self):
        self.opened(self.review)
        self.chromium.execute_script(
            "document.querySelector('#judge label').replaceWith(document.createElement('select'))")
        with self.assertRaises(AssertionError):
            self.check_access()

    def test_at_twice_the_size_nothing_is_cut_off(self):
        # 200 % on a screen of 1280: the page has 640.
        self.chromium.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", {
            **PHONE, "width": 640, "height": 450, "mobile": False})
        self.addCleanup(self.chromium.execute_cdp_cmd, "Emulation.clearDeviceMetricsOverride", {})
        self.opened(self.review)
        outside = self.chromium.execute_script("""
            const wide = document.documentElement.clientWidth;
            return [...document.querySelectorAll("body *")].filter((e) => !e.closest(".wide") &&
              e.getClientRects().length && e.getBoundingClientRect().right > wide + 1)
              .map((e) => e.outerHTML.slice(0, 120));""")
        self.assertEqual(outside, [])


if __name__ == "__main__":
    harness.main()
