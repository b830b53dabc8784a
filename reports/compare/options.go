package compare

// Options of a comparison and of a change study. The zero value means the defaults.
type Options struct {
	// Resamples of the shifts; 0 means DefaultResamples.
	Resamples int
	// Seed of the resampling. The same inputs with the same seed give the same bytes,
	// whatever the order of the runs.
	Seed uint64
	// LeftOut counts, by unit, the runs that the caller has left out already (remakes,
	// shared runs, learning weeks). They are handed on to the unit's row, nothing more.
	LeftOut map[string]int64
}

// What a comparison needs before it says anything. Below them the interval rests on so few
// shifts that it would not cover what it says: the simulation in the package's
// documentation was run with these figures.
const (
	// DefaultResamples of the shifts: the standard error is then known to one part in sixty.
	DefaultResamples = 2000
	// MinimumShifts of each side of a comparison, in the classes that both ran.
	MinimumShifts = 10
	// MinimumRuns of each side of a comparison, in the classes that both ran.
	MinimumRuns = 20
	// MinimumClassRuns is how many runs of a class each side must have for the class to
	// count at all.
	MinimumClassRuns = 3
	// MinimumClassShifts is in how many shifts those runs must lie: with fewer, one good
	// or bad day would be the class.
	MinimumClassShifts = 3
	// MinimumCoverage is the share of the plant's mix that the common classes must make
	// up.
	MinimumCoverage = 0.80
	// MinimumShrinkUnits is how many units it takes to say how far units differ at large:
	// two units are each other's mirror image.
	MinimumShrinkUnits = 3
	// MinimumStudyShifts in each of the four cells of a change study.
	MinimumStudyShifts = 6
	// MinimumDispersionUnits is how many units the test of overdispersion takes: with
	// fewer than ten, winsorising a tenth at each end changes nothing.
	MinimumDispersionUnits = 10
	// MinimumChartPoints is how many points an individuals chart takes.
	MinimumChartPoints = 10
)

func (options Options) resamples() int {
	if options.Resamples > 0 {
		return options.Resamples
	}
	return DefaultResamples
}
