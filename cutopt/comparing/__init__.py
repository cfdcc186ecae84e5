"""Compare: the choices that a job leaves open, each planned, set side by side.

choice     a strategy, a pattern and a grid start, named like factory-edge/straight/best
unbeaten   no other choice is at least as good in tiles, money and minutes and better in one of them
best       the unbeaten choice that is first by the job's aim

This file imports nothing, so that a process that is about to plan a choice starts quickly.
"""
