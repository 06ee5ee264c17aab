"""Choosing: changes to an assembly that clear what fails."""
