package trail

import "fmt"

// Cents are exact dollars.
type Cents int64

// String writes them as 12.50.
func (c Cents) String() string {
	sign := ""
	if c < 0 {
		sign, c = "-", -c
	}
	return fmt.Sprintf("%s%d.%02d", sign, c/100, c%100)
}

// MarshalJSON writes them as an exact decimal.
func (c Cents) MarshalJSON() ([]byte, error) { return []byte(c.String()), nil }

// Week is the margin of one week: of the jobs that margin_by_job lists as complete for it.
type Week struct {
	Week   string `json:"week"`
	From   string `json:"from"`
	Until  string `json:"until"`
	What   string `json:"what"` // margin, or what the trail was narrowed to
	Total  *Cents `json:"usd"`  // nil when no job is complete
	Jobs   []*Job `json:"jobs"`
	Hidden bool   `json:"wages_hidden"`
}

// Job is one job to date, before a day where one is given.
type Job struct {
	Job       string    `json:"job"`
	Customer  *string   `json:"customer"`
	ShippedOn *string   `json:"shipped_on"`
	Until     *string   `json:"until"`
	Missing   *string   `json:"missing"` // why there is no margin
	Revenue   Cents     `json:"revenue_usd"`
	Cost      Cents     `json:"cost_usd"`
	Margin    *Cents    `json:"margin_usd"`
	Hidden    bool      `json:"wages_hidden"`
	Figures   []*Figure `json:"figures"`

	narrowed bool
}

// Figure is revenue or one cost of a job.
type Figure struct {
	Figure  string   `json:"figure"`
	Total   Cents    `json:"usd"`
	Classes []*Class `json:"classes"`
}

// Class is one class of dollar_ledger within a figure.
type Class struct {
	Class    string     `json:"class"`
	Total    Cents      `json:"usd"`
	Hidden   bool       `json:"wages_hidden"`
	Postings []*Posting `json:"postings"`
}

// Posting is what one row of a feed puts on a job on one day.
type Posting struct {
	PostedOn   string  `json:"posted_on"`
	OriginalOn string  `json:"original_on"` // posted_on, but for a correction of a closed month: the day in it
	OccurredOn string  `json:"occurred_on"`
	USD        Cents   `json:"usd"`
	Remake     *string `json:"remake"`
	Source     *Row    `json:"source"`
	Parts      []*Part `json:"parts"`

	now Cents // with all corrections of it
}

// Part is some boards, minutes or trusses behind a posting.
type Part struct {
	USD      Cents   `json:"usd"`
	What     string  `json:"what"`
	PricedAs *string `json:"priced_as"`
	PricedBy *Row    `json:"priced_by"` // nil when no row of a file has the price
	Detail   detail  `json:"detail"`
}

// Row is one row of a file that was read.
type Row struct {
	Feed  string  `json:"feed"`
	File  string  `json:"file"`
	Line  int64   `json:"line"`
	Place string  `json:"place"`
	Text  *string `json:"text"` // as it stands in the file; nil when its copy cannot be read

	importID int64
}

// File is a file that rows of a trail stand in.
type File struct {
	Feed, Name, SHA256, Archive string
	Rows                        []*Row
}
