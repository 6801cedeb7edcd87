"""Numbers that settle an argument about a district."""
