"""Hydraulic hose assemblies: chosen, proved and documented by computing the real shape of the hose."""

__version__ = "0.1.0"
