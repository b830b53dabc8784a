// Package compare is the statistics of fair comparison: intervals that say how much of a
// figure may be chance. It stands beside the SQL that makes the figures, and must know
// neither the warehouse nor sheets.
package compare
