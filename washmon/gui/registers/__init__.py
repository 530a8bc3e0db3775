"""The registers of a shed: instruments, packs, containers and papers."""
