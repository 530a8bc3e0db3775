"""All the commands; imported only when one of them, or help, is asked for."""

from washmon.cli import (
    bench,
    binding,
    calc,
    exporting,
    records,
    registers,
    replay,
    rescue,
    scenario,
    serving,
    support,
    tracing,
)
from washmon.cli.starter import new_app

app = new_app()
app.add_typer(calc.app, name="calc")
app.command()(replay.replay)
app.command()(scenario.scenario)
app.command()(exporting.export)
app.command()(binding.binder)
app.command()(tracing.lot)
app.command()(registers.registers)
app.command()(bench.bench)
app.command()(records.verify)
app.command()(records.rebuild)
app.command()(serving.migrate)
app.command()(records.backup)
app.command()(rescue.restore)
app.command()(rescue.salvage)
app.command()(rescue.reset_pin)
app.command()(records.rules)
app.command()(support.report)
