"""Scripted trainees at the scenarios that come with the program, each played once."""

from functools import cache

from washmon.sessions.debrief.score import Debrief, debrief
from washmon.sessions.practice.attempt import Run
from washmon.sessions.practice.scenario_files import scenarios
from washmon.sessions.practice.trainee import CHAIN, GOOD, Manner, scripted

TEXTS = [text for _, text in scenarios()]


@cache
def run_of(text: str, manner: Manner) -> Run:
    """Play once what several tests look at."""
    return scripted(text, manner)


@cache
def played(text: str, manner: Manner) -> Debrief:
    """Return the debrief of a scripted trainee, held against the good one, who is played once."""
    return debrief(CHAIN, run_of(text, manner).entries, run_of(text, GOOD))
