"""Every reader fed with damaged files: a result or a plain refusal comes out, and nothing else.

A short part runs with the other tests. The long run is ``python -m tests.fuzz --inputs 100000``.
"""
