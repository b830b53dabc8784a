package ingest

func inspections() Feed {
	return Feed{
		Name: "inspections", Row: "one truss inspected at one table",
		Key: []string{"record"}, Record: true,
		Group: []GroupPart{{Column: "station"}, {Column: "shift_date"}},
		Columns: []Column{
			{Name: "record", Kind: Code, Meaning: "the inspector's own number of the row; a row with one is corrected by it", Example: ""},
			{Name: "shift_date", Kind: Date, Required: true, Meaning: "date on which the shift began that built the truss", Example: "2026-08-24"},
			{Name: "station", Kind: Code, Required: true, Station: true, Meaning: "table that built the truss", Example: "T1"},
			{Name: "shift", Kind: Code, Required: true, Meaning: "shift that built the truss", Example: "day"},
			{Name: "job", Kind: Code, Required: true, Meaning: "job number", Example: "J1001"},
			{Name: "truss", Kind: Code, Required: true, Meaning: "truss mark", Example: "T1"},
			{Name: "passed", Kind: Choice, Required: true, Choices: []string{"yes", "no"}, Meaning: "whether the truss passed as it was built; one row a truss inspected", Example: "yes"},
		},
	}
}

func incidents() Feed {
	return Feed{
		Name: "incidents", Row: "one injury, illness, first aid case or near miss; never a name",
		Key: []string{"record"}, Unique: true,
		Rules: []RowRule{
			// 29 CFR 1904.7(b)(1): days away from work and restricted work make a case recordable.
			{Code: CodeOutOfRange, Column: "recordable", Wrong: "recordable <> 'yes' AND coalesce(days_away, 0) + coalesce(days_restricted, 0) > 0", What: "days away or restricted, and not recordable", Hint: "a case with days away from work or of restricted work is recordable (29 CFR 1904.7): say yes, or leave the days blank"},
		},
		Columns: []Column{
			{Name: "record", Kind: Code, Required: true, Meaning: "number of the report; no name", Example: "N501"},
			{Name: "occurred_at", Kind: Time, Required: true, DateAlone: true, Meaning: "when it happened; a date alone is taken as that day's start", Example: "2026-08-24 10:15"},
			{Name: "shift_date", Kind: Date, Required: true, Meaning: "date on which the shift began", Example: "2026-08-24"},
			{Name: "station", Kind: Code, Station: true, Meaning: "where it happened; no figure is ever made by it", Example: ""},
			{Name: "crew", Kind: Code, Meaning: "crew concerned; no figure is ever made by it", Example: ""},
			{Name: "shift", Kind: Code, Meaning: "shift code", Example: "day"},
			{Name: "recordable", Kind: Choice, Required: true, Choices: []string{"yes", "no", "near_miss", "first_aid"}, Meaning: "yes: a recordable case; no: a report that is none; near_miss and first_aid: reports made", Example: "first_aid"},
			{Name: "days_away", Kind: Integer, Minimum: "0", Meaning: "days away from work", Example: ""},
			{Name: "days_restricted", Kind: Integer, Minimum: "0", Meaning: "days of restricted or other work", Example: ""},
		},
	}
}
