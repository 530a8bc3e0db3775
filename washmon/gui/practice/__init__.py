"""Practice in the window: a simulated shift on the very same Board, its debrief, its trainees."""
