"""From the work of a session to a schedule: who does what when."""
