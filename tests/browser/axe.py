"""What a browser test asks of any page: axe's findings, and what makes it scroll sideways."""

from axe_playwright_python.sync_playwright import Axe

# WCAG 2.2 A and AA; axe leaves its one rule of 2.2 off unless it is asked for.
OPTIONS = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    "rules": {"target-size": {"enabled": True}},
    "resultTypes": ["violations"],
}


def findings(page) -> list[str]:
    found = Axe().run(page, options=OPTIONS).response["violations"]
    return [
        f"{rule['id']}: {node['target']} {node.get('failureSummary', '')}" for rule in found for node in rule["nodes"]
    ]


def sideways(page) -> list[str]:
    """Return what makes a page scroll sideways, or nothing."""
    return page.evaluate(
        """() => document.documentElement.scrollWidth <= innerWidth ? [] :
        [...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > innerWidth + 1)
        .map((e) => `${e.tagName} ${e.className.baseVal ?? e.className}`)"""
    )
