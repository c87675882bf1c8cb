"""The demo: two invented clubs with people, aircraft and some history. Nothing in it describes anything that exists."""

from config.demo.load import load

__all__ = ["load"]
