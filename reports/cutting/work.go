package cutting

import "context"

// work counts steps. A step is a few nanoseconds of arithmetic, counted where it is done:
// one node of a search, some cells of a table, a row of a matrix.
type work struct {
	ctx      context.Context
	spent    int64
	limit    int64
	nextLook int64
	err      error // of the context
}

const stepsBetweenLooks = 1 << 18

// spend counts steps, and says whether work may go on.
func (w *work) spend(steps int64) bool {
	w.spent += steps
	if w.spent >= w.nextLook {
		w.nextLook = w.spent + stepsBetweenLooks
		if w.err == nil {
			w.err = w.ctx.Err()
		}
	}
	return w.err == nil && w.spent < w.limit
}
