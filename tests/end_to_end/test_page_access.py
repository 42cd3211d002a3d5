#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The page against the rules of axe-core (WCAG 2.2, levels A and AA), on a desktop and on a phone, light and
dark, with
everything opened; and at 200 % zoom."""
import json
import os
import sys

import harness
from browser import PHONE, WithBrowser

AXE = next((path for path in (os.path.join(build, "axe", "node_modules", "axe-core", "axe.min.js")
                              for build in (harness.BIN, os.path.join(harness.SOURCE, "build")))
            if os.path.exists(path)), None)
if not AXE:
    print("SKIPPED: axe-core is not installed (scripts/setup test fetches it with npm into build/axe)")
    sys.exit(77)

STANDARDS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
LEAST_RULES = 20  # that must apply to something, or else the check itself is broken


class Access(WithBrowser):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        cls.review = cls.review_demo("review", "--list-from", "0.85")  # few things of each kind
        cls.chromium.set_script_timeout(240)
        cls.blind = cls.review_demo("blind", "--blind")
        with open(AXE, encoding="utf-8") as file:
            cls.axe = file.read()

    def check(self, least_rules=LEAST_RULES):
        self.chromium.execute_script(
            "document.querySelectorAll('details').forEach((d) => { d.open = true; });")
        self.chromium.execute_script(self.axe)
        result = self.chromium.execute_async_script("""
            const done = arguments[1];
            axe.run(document, {runOnly: {type: "tag", values: arguments[0]}}).then(
              (r) => done({passes: r.passes.map((p) => p.id),
                violations: r.violations.map((v) => [v.id, v.help, v.nodes.length, v.nodes[0].html.slice(0, 200)])}),
              (fault) => done({fault: String(fault)}));""", STANDARDS)
        self.assertNotIn("fault", result)
        self.assertEqual(result["violations"], [], json.dumps(result["violations"], indent=1))
        self.assertGreaterEqual(len(result["passes"]), least_rules, result["passes"])

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
            self.check()
            self.chromium.execute_script("localStorage.clear()")

    def test_the_page_on_a_phone(self):
        self.as_phone()
        self.opened(self.review)
        self.check()

    def test_the_summary(self):
        self.chromium.get("file://" + os.path.join(self.review, "summary.html"))
        self.check(least_rules=8)

    def test_the_blind_page_on_both(self):
        for phone in (False, True):
            if phone:
                self.as_phone()
            self.opened(self.blind)
            self.check()

    def test_the_check_detects_faults(self):
        self.opened(self.review)
        self.chromium.execute_script(
            "document.querySelector('#judge label').replaceWith(document.createElement('select'))")
        with self.assertRaises(AssertionError):
            self.check()

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
