// Package problem is the one shape of an error that a person is meant to read:
//
//	file:line:column: what is wrong (the value) [code-word]
//
// then the row as it stands, then one hint. Every package that reads what people write
// reports with it; cmd prints it.
//
// It must not know: any feed, file format or database.
package problem
