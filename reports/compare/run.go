package compare

import "math"

// Run is one run of trusses, whole: what one unit built of one class in one shift.
type Run struct {
	// Unit is what is compared: a crew, a shift, a station, a crew on a shift.
	Unit string
	// Shift is the shift worked: unit, station and shift date as one text. The runs of a
	// shift share its people, its lumber and its weather, so shifts are what is resampled.
	Shift string
	// Class of the truss, with its size and its batch: only what is alike is compared.
	Class string
	// Trusses built, at least 1.
	Trusses int64
	// Minutes of people, set-up and build together, above 0.
	Minutes float64
}

// usable says whether a rate can be had from the run.
func (run Run) usable() bool {
	return run.Trusses > 0 && run.Minutes > 0 && !math.IsInf(run.Minutes, 0)
}
