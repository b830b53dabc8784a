package compare

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// madeStudy describes a study by its truth.
type madeStudy struct {
	effect, period, drift float64
	weeks, changed        int
	// luck is the log deviation of a shift.
	luck float64
	// untreated stations exist; newCrew puts a crew of its own on the changed table after
	// the change, which works nowhere else.
	untreated, newCrew bool
	// afterClass is built after the change at the changed table alone.
	afterClass bool
}

func (made madeStudy) runs() (runs []StudyRun) {
	random := rand.New(rand.NewPCG(11, 12))
	paces := []float64{1, 1.25}
	rates := map[string]float64{"simple": 10, "complex": 35}
	for week := range made.weeks {
		for day := range 5 {
			for table := range 2 {
				treated := table == 0
				if !treated && !made.untreated {
					continue
				}
				after := week >= made.changed
				number := (table + week) % 2
				crew := fmt.Sprintf("crew %d", number)
				factor := paces[number]
				if treated && after && made.newCrew {
					crew = "crew of the new table"
				}
				if after {
					factor *= made.period
				}
				if treated {
					factor *= 1.1 * math.Exp(made.drift*float64(week))
				}
				if treated && after {
					factor *= made.effect
				}
				factor *= math.Exp(made.luck * random.NormFloat64())
				for number, class := range []string{"simple", "complex"} {
					weight := float64(2 + (week+3*day+2*table+number)%7)
					run := StudyRun{
						Station: fmt.Sprintf("table %d", table), Treated: treated, After: after, Week: week, Class: class, Crew: crew,
						Shift: fmt.Sprintf("%d %d %d", table, week, day), Weight: weight, Minutes: weight * rates[class] * factor,
					}
					if made.afterClass && treated && after && class == "complex" {
						run.Class = "attic"
					}
					runs = append(runs, run)
				}
			}
		}
	}
	return runs
}

var evenMix = map[string]float64{"simple": 1, "complex": 1}

// Without luck the fit gives back what was put in: minutes on the even mix are 22.5 × the
// mean pace × the table's 1.1 × period × effect.
func TestStudyGivesBackTheTruth(t *testing.T) {
	made := madeStudy{effect: 0.9, period: 1.2, weeks: 12, changed: 5, untreated: true}
	result := Study(made.runs(), evenMix, Options{Resamples: 20})
	near(t, "effect", result.Effect, 0.9, 1e-8)
	near(t, "treated", result.TreatedAfter.Minutes/result.TreatedBefore.Minutes, 1.2*0.9, 1e-8)
	near(t, "untreated", result.UntreatedAfter.Minutes/result.UntreatedBefore.Minutes, 1.2, 1e-8)
	near(t, "tables", result.TreatedBefore.Minutes/result.UntreatedBefore.Minutes, 1.1, 1e-8)
	weight, slow := 0.0, 0.0
	for _, run := range made.runs() {
		weight += run.Weight
		if run.Crew == "crew 1" {
			slow += run.Weight
		}
	}
	near(t, "minutes before", result.UntreatedBefore.Minutes, 22.5*(1+0.25*slow/weight), 1e-6)
	if result.TreatedBefore.Shifts != 25 || result.TreatedAfter.Shifts != 35 || result.UntreatedAfter.Runs != 70 {
		t.Errorf("%+v", result)
	}
}

func TestStudyVerdicts(t *testing.T) {
	for _, one := range []struct {
		name    string
		made    madeStudy
		verdict Verdict
		words   string
	}{
		{"an effect", madeStudy{effect: 0.8, period: 1.1, weeks: 16, changed: 8, luck: 0.1, untreated: true}, ChangeFound, "found (n = 40 shifts before, 40 after; unchanged stations 40 and 40)"},
		{"none", madeStudy{effect: 1, period: 0.8, weeks: 16, changed: 8, luck: 0.1, untreated: true}, ChangeNotShown, "not shown (n = 40 shifts before, 40 after; unchanged stations 40 and 40)"},
		{"alone", madeStudy{effect: 0.8, period: 1, weeks: 16, changed: 8, luck: 0.1}, ChangeFound, "found (n = 40 shifts before, 40 after): before and after alone, with no unchanged station to compare with"},
		{"a week before", madeStudy{effect: 0.8, period: 1, weeks: 9, changed: 1, luck: 0.1, untreated: true}, NotEnoughData, "not enough data (n = 5 and 40 shifts at the changed stations, 5 and 40 at the others; 6 needed in each)"},
		{"a new crew", madeStudy{effect: 0.8, period: 1, weeks: 16, changed: 8, luck: 0.1, untreated: true, newCrew: true}, CannotTellApart, "cannot be told apart: the change came together with another crew or station"},
		{"a new class", madeStudy{effect: 0.8, period: 1, weeks: 16, changed: 8, luck: 0.1, untreated: true, afterClass: true}, MixTooDifferent, "mix too different (50 % of the mix was run before and after; 80 % needed)"},
	} {
		t.Run(one.name, func(t *testing.T) {
			result := Study(one.made.runs(), evenMix, Options{Resamples: 400})
			if result.Verdict != one.verdict || result.Words != one.words {
				t.Errorf("%q %q, want %q", result.Verdict, result.Words, one.words)
			}
			judged := one.verdict == ChangeFound || one.verdict == ChangeNotShown
			if result.Interval95.Known() != judged {
				t.Errorf("interval %v", result.Interval95)
			}
			if judged && (result.Interval95.Excludes(one.made.effect) || !result.Welch.Enough || !result.Ranks.Enough) {
				t.Errorf("effect %v in %v, want %v; %+v %+v", result.Effect, result.Interval95, one.made.effect, result.Welch, result.Ranks)
			}
			if judged {
				near(t, "Welch's difference", result.Welch.Difference, math.Log(result.Effect), 0.02)
				near(t, "Hodges and Lehmann's shift", result.Ranks.Shift, math.Log(result.Effect), 0.04)
			}
		})
	}
}

func TestDriftBeforeTheChange(t *testing.T) {
	for _, one := range []struct {
		drift float64
		words string
	}{
		{-0.03, "was already improving before the change, by "},
		{0.03, "was getting slower before the change, by "},
		{0, "no drift shown in the 10 weeks before the change (P = "},
	} {
		result := Study(madeStudy{effect: 1, period: 1, drift: one.drift, weeks: 16, changed: 10, luck: 0.05, untreated: true}.runs(), evenMix, Options{Resamples: 20})
		if !strings.HasPrefix(result.DriftWords, one.words) {
			t.Errorf("drift %v: %q, want %q…", one.drift, result.DriftWords, one.words)
		}
	}
}
