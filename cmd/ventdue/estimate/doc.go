// Package estimate answers questions about runs that no data file knows: a line of JSON tells of one vent run, its dryer, its
// use and what was found, and a line of JSON says when it is due, how sure that is, and why.
//
// The table of fields (fields.go) is the one description of the format: the decoder reads by it and the JSON Schema is made
// from it, so that neither can take what the other does not say. Names of a run's and a dryer's fields are those of the import
// columns; a finding's are those of an export.
//
// Lines come from strangers. Nothing is guessed: an unknown field, a second one of the same name, a figure that cannot be, a
// day in the future is refused by name with a remedy. A bad line, even one that upsets the program, costs its own answer
// and no other.
package estimate
