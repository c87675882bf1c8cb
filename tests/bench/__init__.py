"""Benchmarks: run by ``python -m tests.bench NAME``, never by the test suite. See README.md beside this file."""
