"""Mutation testing of beam, strengths, joints and verdicts: do the tests notice a wrong line?"""
