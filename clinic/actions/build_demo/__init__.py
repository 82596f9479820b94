"""Builds the demo by living it: every row comes through the actions that people use, so none is forbidden."""

from clinic.actions.build_demo.build import DEMO_PASSWORD, HouseStands, build
from clinic.actions.build_demo.papers import issue_papers

__all__ = ["DEMO_PASSWORD", "HouseStands", "build", "issue_papers"]
