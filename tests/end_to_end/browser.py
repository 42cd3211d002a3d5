# SPDX-License-Identifier: GPL-3.0-or-later
"""A real browser for the tests of the page; without one they are skipped."""
import base64
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
import unittest

import harness

try:
    from selenium import webdriver
except ImportError:
    print("SKIPPED: selenium is not installed (python3-selenium)")
    sys.exit(77)
if not shutil.which("chromium") or not shutil.which("chromedriver"):
    print("SKIPPED: no browser to drive (chromium, chromium-driver)")
    sys.exit(77)

DEMO = os.path.join(harness.SOURCE, "data", "demo")
PATIENCE_S = 90  # a busy machine decodes and draws slowly
LOOK_AGAIN_S = 0.03
AXE = next((path for path in (os.path.join(build, "axe", "node_modules", "axe-core", "axe.min.js")
                              for build in (harness.BIN, os.path.join(harness.SOURCE, "build")))
            if os.path.exists(path)), None)
STANDARDS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
LEAST_RULES = 20  # that must have found something to look at: else the check itself is broken
PHONE = {"width": 390, "height": 844, "deviceScaleFactor": 2, "mobile": True}


def browser(downloads, requests=False):
    """With `requests`, its log "performance" lists network requests, which costs time."""
    options = webdriver.ChromeOptions()
    for argument in ("--headless=new", "--no-sandbox", "--disable-gpu", "--window-size=1280,900",
                     "--autoplay-policy=no-user-gesture-required"):
        options.add_argument(argument)
    options.add_experimental_option("prefs", {"download.default_directory": downloads})
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", **({"performance": "ALL"} if requests else {})})
    return webdriver.Chrome(options=options)


class WithBrowser(unittest.TestCase):
    """One browser and one folder for all tests of a class."""
    lists_requests = False

    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.mkdtemp(prefix="lull-test-")
        cls.addClassCleanup(shutil.rmtree, cls.folder, ignore_errors=True)
        cls.chromium = browser(cls.folder, cls.lists_requests)
        cls.addClassCleanup(cls.chromium.quit)

    @classmethod
    def review_demo(cls, name, *options, session=os.path.join(DEMO, "session.json")):
        folder = os.path.join(cls.folder, name)
        done = harness.run("lull-review", session, "-o", folder, "--quiet",
                           "--log", os.path.join(DEMO, "log.csv"), *options)
        assert done.returncode == 0, done.stderr
        return folder

    def open(self, folder):
        self.chromium.get("file://" + os.path.join(folder, "index.html"))

    def as_phone(self):
        self.chromium.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", PHONE)
        self.addCleanup(self.chromium.execute_cdp_cmd, "Emulation.clearDeviceMetricsOverride", {})

    def until(self, found, what, every_s=LOOK_AGAIN_S):
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            result = found()
            if result:
                return result
            time.sleep(every_s)
        self.fail(f"waited {PATIENCE_S} s in vain: {what}")

    def count(self, selector):
        return self.chromium.execute_script("return document.querySelectorAll(arguments[0]).length", selector)

    def still(self, element):
        """The box of an element in the window, once it has stopped moving."""
        last = []

        def unmoved():
            last.append(self.chromium.execute_script(
                "return arguments[0].getBoundingClientRect().toJSON()", element))
            return last[-1] if len(last) > 2 and last[-1] == last[-2] == last[-3] else None
        return self.until(unmoved, "an element that stands still", every_s=0.1)

    def check_access(self, least_rules=LEAST_RULES):
        """The page that is open, everything unfolded, against the rules of axe-core (WCAG 2.2, A and AA)."""
        self.chromium.set_script_timeout(240)
        self.chromium.execute_script(
            "document.querySelectorAll('details').forEach((d) => { d.open = true; });")
        with open(AXE, encoding="utf-8") as file:
            self.chromium.execute_script(file.read())
        result = self.chromium.execute_async_script("""
            const done = arguments[1];
            axe.run(document, {runOnly: {type: "tag", values: arguments[0]}}).then(
              (r) => done({passes: r.passes.map((p) => p.id),
                violations: r.violations.map((v) => [v.id, v.help, v.nodes.length, v.nodes[0].html.slice(0, 200)])}),
              (fault) => done({fault: String(fault)}));""", STANDARDS)
        self.assertNotIn("fault", result)
        self.assertEqual(result["violations"], [], json.dumps(result["violations"], indent=1))
        self.assertGreaterEqual(len(result["passes"]), least_rules, result["passes"])

    def printed(self, url, size=(8.27, 11.69)):
        """The text of each sheet; skips the test where there is nothing to read a PDF. Inches."""
        if not shutil.which("pdftotext"):
            self.skipTest("pdftotext is not installed")
        self.chromium.get(url)
        sheet = self.chromium.execute_cdp_cmd("Page.printToPDF", {
            "paperWidth": size[0], "paperHeight": size[1], "preferCSSPageSize": False})
        path = os.path.join(self.folder, "printed.pdf")
        with open(path, "wb") as file:
            file.write(base64.b64decode(sheet["data"]))
        text = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True,
                              check=True).stdout
        return text.split("\f")[:-1]

    def press(self, keys):
        webdriver.ActionChains(self.chromium).send_keys(keys).perform()
