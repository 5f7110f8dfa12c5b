"""Mutation testing of the beam, the strengths and the verdicts: do the tests notice a wrong line?"""
