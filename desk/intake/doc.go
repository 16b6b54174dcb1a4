// Package intake turns files into rows: csv, xlsx and jsonl in, typed cells by documented column out.
//
// A row tells of one exhaust run with its customer, site, unit, dryer and last cleaning. The table of columns
// (Columns) is the one description of the format: reading, the README and `ventdue import --columns` all
// come from it.
//
// Nothing is guessed. A date that two readers would read differently, a number whose unit is unknown, a column
// that is not in the table: each is a Problem with its row as the spreadsheet shows it, its column, the value and
// a remedy. Problems are collected, so that one reading of the file shows them all.
//
// The package knows neither store nor clock. Files come from strangers: lines, columns and unpacked sizes are
// bounded, formulas are never evaluated, and text stays text.
package intake
