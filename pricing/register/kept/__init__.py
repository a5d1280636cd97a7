"""What is kept of a quote: the promise and its lines, the rows of the price book that it names, and the inputs of its costing."""
