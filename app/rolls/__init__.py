"""The rolls as a place to work: sheets with their pieces, laid by the program and by hand."""
