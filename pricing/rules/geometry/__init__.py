"""What shapes are made of: their tables and dimensions, boards, edges, plans, cut-outs and drawings."""
