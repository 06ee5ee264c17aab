"""Every routing rule as a module: each takes solved runs and returns findings."""
