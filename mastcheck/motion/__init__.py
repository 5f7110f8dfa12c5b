"""Motion floor: natural modes in air and water, shedding at the trailing edge, divergence."""
