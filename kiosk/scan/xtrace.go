package scan

var trace func(what string, l *lattice, t trio)
