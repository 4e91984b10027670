"""The season out: collect → registers → checks → package."""
