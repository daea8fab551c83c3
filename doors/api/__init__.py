"""The register and its sizings for other programs."""
