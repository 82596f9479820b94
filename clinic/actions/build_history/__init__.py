"""A large invented past, lived day by day through the actions that people use, for measuring how the house grows."""

from clinic.actions.build_history.build import HouseStands, build

__all__ = ["HouseStands", "build"]
