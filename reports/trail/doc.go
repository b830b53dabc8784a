// Package trail follows the margin of a job down: its figures, the postings of each, the
// boards, minutes or trusses behind a posting, and the rows of files that they come from.
// At each level it holds the sum against the level above, to the cent.
//
// Pipeline: beside the reports, after the ledgers. Each level is one SELECT of sql/explain;
// this package walks them and prints the tree. The texts of the rows are given to it.
//
// It must not know: how a figure is computed (that is the SQL's), or how a file is read.
package trail
