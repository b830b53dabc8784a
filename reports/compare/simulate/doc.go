// Command simulate tries the statistics of reports/compare on made plants whose truth is
// known, and prints how often the intervals cover it and how often a difference is called
// where there is none:
//
//	go run ./reports/compare/simulate --plants 400
//
// Truth is conditional on the design: who worked when, at which table, on which runs. The
// true ratio of a crew is what the comparison itself gives when every run takes exactly its
// expected minutes (class rate × crew's pace in that class × the change's effect where it
// applies), without the luck of the shift or of the run. The true effect of a change is the
// factor that was put on the expected minutes.
//
// It ends with exit code 1 when a figure is out of its bounds.
package main
