"""Many designs of one mast: sweeps, sizing, tolerances, and where they are computed."""
