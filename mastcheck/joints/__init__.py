"""Joints: what they give to the mast's movement, what their bolts carry, and the play they let in."""
