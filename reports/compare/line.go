package compare

import "math"

// Regression is a straight line by least squares.
type Regression struct {
	Points                     int
	Intercept, Slope           float64
	InterceptError, SlopeError float64
	ResidualDeviation          float64
	// SlopeP is the two-sided probability of such a slope where there is none.
	SlopeP float64
	// Enough is false with fewer than three points or a single place on the x axis.
	Enough bool
}

// Line fits y = Intercept + Slope × x. Both slices are of one length.
func Line(x, y []float64) Regression {
	line := Regression{
		Points: len(x), Intercept: math.NaN(), Slope: math.NaN(), InterceptError: math.NaN(), SlopeError: math.NaN(),
		ResidualDeviation: math.NaN(), SlopeP: math.NaN(),
	}
	if len(x) < 3 || len(x) != len(y) {
		return line
	}
	xMean, xSquares := meanAndSquares(x)
	yMean, _ := meanAndSquares(y)
	if xSquares == 0 {
		return line
	}
	products := 0.0
	for i := range x {
		products += (x[i] - xMean) * (y[i] - yMean)
	}
	line.Slope = products / xSquares
	line.Intercept = yMean - line.Slope*xMean
	squares := 0.0
	for i := range x {
		residual := (y[i] - yMean) - line.Slope*(x[i]-xMean)
		squares += residual * residual
	}
	freedom := float64(len(x) - 2)
	line.ResidualDeviation = math.Sqrt(squares / freedom)
	line.SlopeError = line.ResidualDeviation / math.Sqrt(xSquares)
	line.InterceptError = line.ResidualDeviation * math.Sqrt(1/float64(len(x))+xMean*xMean/xSquares)
	switch {
	case line.SlopeError > 0:
		line.SlopeP = twoSided(line.Slope/line.SlopeError, freedom)
	case line.Slope == 0:
		line.SlopeP = 1
	default:
		line.SlopeP = 0
	}
	line.Enough = true
	return line
}
