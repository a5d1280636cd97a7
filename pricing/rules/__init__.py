"""The costing method as small pure functions: each a name, its inputs and its algebra."""
