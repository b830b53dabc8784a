package compare

import "math"

// spread is a running mean and sum of squares around it (Welford, Technometrics 4, 1962).
type spread struct {
	count         int
	mean, squares float64
}

func (running *spread) add(value float64) {
	running.count++
	step := value - running.mean
	running.mean += step / float64(running.count)
	running.squares += step * (value - running.mean)
}

func (running spread) deviation() float64 {
	if running.count < 2 {
		return math.NaN()
	}
	return math.Sqrt(running.squares / float64(running.count-1))
}
