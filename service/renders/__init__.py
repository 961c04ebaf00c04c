"""Answers in other forms than JSON: pure functions from an answer and a unit system."""
