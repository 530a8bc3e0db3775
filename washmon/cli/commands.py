"""All the commands; imported only when one of them, or help, is asked for."""

from washmon.cli import calc, exporting, papers, records, rescue, sessions, support
from washmon.cli.starter import new_app

app = new_app()
app.add_typer(calc.app, name="calc")
app.command()(sessions.replay)
app.command()(sessions.scenario)
app.command()(exporting.export)
app.command()(papers.binder)
app.command()(papers.lot)
app.command()(papers.registers)
app.command()(papers.bench)
app.command()(records.verify)
app.command()(records.rebuild)
app.command()(records.migrate)
app.command()(records.backup)
app.command()(rescue.restore)
app.command()(rescue.salvage)
app.command()(rescue.reset_pin)
app.command()(records.rules)
app.command()(support.report)
