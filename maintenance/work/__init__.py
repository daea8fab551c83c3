"""Doing the work: jobs begun, ended and taken back; faults found and mended."""
