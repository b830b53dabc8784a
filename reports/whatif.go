package reports

import (
	"context"
	"fmt"
	"regexp"
	"strings"

	"trusstally/ingest/problem"
)

// Assumptions are what `report what_if` is asked: names and values as given, checked by
// ParseAssumptions.
type Assumptions struct {
	values map[string]string
	cost   string // dollars; "" for none given
}

// assumptionNames are what may be assumed, with what their values look like.
var assumptionNames = []struct{ name, pattern, example string }{
	{"setup_min", `^\d{1,4}(\.\d{1,2})?$`, "minutes on the clock for a set-up: setup_min=2"},
	{"batch_size", `^[1-9]\d{0,2}$`, "trusses of a mark on one set-up: batch_size=6"},
	{"stoppage", `^.{1,200}$`, `a reason as the stoppages have it: stoppage="no lumber"`},
	{"stoppage_less_pct", `^(0(\.\d{1,6})?|1(\.0{1,6})?)$`, "how much less of it, a fraction: stoppage_less_pct=0.5"},
}

// ParseAssumptions reads name=value pairs and a cost in dollars ("" for none). Its errors
// are a problem.List.
func ParseAssumptions(pairs []string, cost string) (Assumptions, error) {
	a := Assumptions{values: map[string]string{}, cost: cost}
	var problems problem.List
	var names []string
	for _, known := range assumptionNames {
		names = append(names, known.name)
	}
	for _, pair := range pairs {
		name, value, _ := strings.Cut(pair, "=")
		name, value = strings.TrimSpace(name), strings.TrimSpace(value)
		known := false
		for _, assumption := range assumptionNames {
			if assumption.name != name {
				continue
			}
			known = true
			if !regexp.MustCompile(assumption.pattern).MatchString(value) {
				problems = append(problems, &problem.Problem{What: fmt.Sprintf("not a value of %s (%s)", name, value), Code: CodeBadAssumption, Usage: true, Hint: assumption.example})
			}
		}
		if !known {
			hint := "what may be assumed: " + strings.Join(names, ", ")
			if near := problem.Nearest(name, names); near != "" {
				hint = "did you mean " + near + "?"
			}
			problems = append(problems, &problem.Problem{What: fmt.Sprintf("nothing of that name can be assumed (%s)", name), Code: CodeBadAssumption, Usage: true, Hint: hint})
		}
		a.values[name] = value
	}
	if a.values["stoppage_less_pct"] != "" && a.values["stoppage"] == "" {
		problems = append(problems, &problem.Problem{What: "less of which stoppage is not said", Code: CodeBadAssumption, Usage: true, Hint: `add --set stoppage="no lumber"`})
	}
	if cost != "" && !regexp.MustCompile(`^\d{1,9}(\.\d{1,2})?$`).MatchString(cost) {
		problems = append(problems, &problem.Problem{What: fmt.Sprintf("not an amount in dollars (%s)", cost), Code: CodeBadAssumption, Usage: true, Hint: "write --cost 180000"})
	}
	if len(problems) > 0 {
		return a, problems
	}
	return a, nil
}

// Given says whether anything was asked.
func (a Assumptions) Given() bool { return len(a.values) > 0 || a.cost != "" }

// Assuming is the period with what report what_if is asked.
func (p Period) Assuming(a Assumptions) Period {
	p.assumptions = a
	return p
}

func (a Assumptions) value(name string) any {
	if value, ok := a.values[name]; ok {
		return value
	}
	return nil
}

// whatIf fills what_ifs: one row an assumption, and their sum against the cost is not made:
// savings of two assumptions overlap.
func whatIf(ctx context.Context, from Source, period Period, tables temporaryRows) error {
	a := period.assumptions
	if len(a.values) == 0 {
		return nil
	}
	value, err := valuationOf(ctx, from, period)
	if err != nil {
		return err
	}
	return from.Query(ctx, `
SELECT place, assumption, unit, weeks, units, seconds_to_min(now_seconds), seconds_to_min(saved_seconds), seconds_to_min(year_seconds), cents_to_usd(year_cents)
FROM what_if_savings($until::DATE, $setup_min::DECIMAL(9,2), $batch_size::BIGINT, $stoppage::VARCHAR, $stoppage_less_pct::DECIMAL(8,6))
ORDER BY place`, map[string]any{
		"until": day(period.Until), "setup_min": a.value("setup_min"), "batch_size": a.value("batch_size"), "stoppage": a.value("stoppage"), "stoppage_less_pct": a.value("stoppage_less_pct"),
	}, nil, func(row []any) error {
		var cost, payback, npv any = null{}, null{}, null{}
		if a.cost != "" {
			cost = figure(a.cost)
			if yearly := asFloat(row[8]); row[8] != nil {
				payback, npv = worth(asFloat(a.cost), yearly, value)
			}
		}
		tables.add("what_ifs", number(row[0]), text(row[1]), text(row[2]), number(row[3]), number(row[4]), cell(row[5]), cell(row[6]), cell(row[7]), cell(row[8]), cost, payback, npv)
		return nil
	})
}

// cell is a number of the engine's as it takes it back.
func cell(value any) any {
	if value == nil {
		return null{}
	}
	return figure(fmt.Sprint(value))
}
