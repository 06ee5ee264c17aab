"""Frames, centre lines and distances: arrays only."""

from hosewright.geometry.frames import Frames, rotation

__all__ = ["Frames", "rotation"]
