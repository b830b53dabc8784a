package reports

// The code words of what can be wrong with a report's name, its period or its definition.
const (
	CodeUnknownReport = "unknown-report" // no sheet or book of that name
	CodeBadWeek       = "bad-week"       // not a week
	CodeBadMonth      = "bad-month"      // not a month
	CodeBadPeriod     = "bad-period"     // not a first day and a day after the last

	CodeBadAssumption = "bad-assumption" // what_if is asked something that can't be assumed

	// The header of a sheet's .sql file.
	CodeUnknownKey     = "unknown-key"     // a header key that no sheet has
	CodeMissingKey     = "missing-key"     // a header key that every sheet has is not there
	CodeBadParam       = "bad-param"       // a parameter line without name and type
	CodeUnknownParam   = "unknown-param"   // a parameter that no period can fill
	CodeBadColumn      = "bad-column"      // a column line that is not name | heading | format | total | meaning
	CodeBadChart       = "bad-chart"       // a chart line that draws no chart
	CodeBadLink        = "bad-link"        // a link line that leads nowhere
	CodeBadEmphasis    = "bad-emphasis"    // an emphasis line that says neither negative nor a word
	CodeColumnMismatch = "column-mismatch" // the SQL has other columns than the header

	// A sheet of the plant's own.
	CodeNameTaken    = "name-taken"     // another sheet or book has the name of a sheet of the plant's own
	CodeBadSheetName = "bad-sheet-name" // a sheet of the plant's own is not called as its file, or not as a sheet can be
	CodeBadSheetFile = "bad-sheet-file" // a file in reports/ can't be read as text
	CodeTooManyRows  = "too-many-rows"  // a sheet of the plant's own has more rows than one can look through
	CodeBadSheet     = "bad-sheet"      // no workbook can hold the sheet as its header has it
)
