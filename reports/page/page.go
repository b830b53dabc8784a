package page

// Page is one file. Alarms stand above everything else.
type Page struct {
	Title    string // of the window
	Heading  string // the only first-level heading
	Subtitle string // what the page covers
	Alarms   []Finding
	Status   []string // sentences below the heading
	Links    []Link   // files beside this one
	Sections []Section
	Footer   []string
	Wall     bool // for a screen on a wall, read from afar
}

// Link leads to a file beside the page.
type Link struct{ File, Words string }

// Section is a part of the page under its own heading. What it has none of is left out;
// Empty is what it says when it has nothing at all.
type Section struct {
	ID      string // of the heading, for links within the page
	Heading string
	Empty   string
	Tiles   []Tile
	Groups  []Group
	Figures []Figure
	Tables  []Table
	Notes   []string
}

// Tile is one figure in large type. Text says in words what isn't known.
type Tile struct{ Label, Text, Unit, Beside string }

// Group is findings of one kind.
type Group struct {
	Heading  string
	Link     Link // the zero Link is none
	Findings []Finding
}

// Finding is a sentence with the figures that belong to it, each with its unit.
type Finding struct {
	Item, Sentence string
	Figures        []string
}

// Figure is a chart, its figures in words for who can't see it, and their table.
type Figure struct {
	Title       string
	Description string // what the chart shows, in words
	Chart       Chart  // nil where there is nothing to draw: Words say why
	Words       []string
	Table       *Table
}

// Chart is what draws itself in the panel's width.
type Chart interface {
	draw(c *canvas)
	legend() []legendEntry
}

// Value is a figure: where it stands on a scale, and its text as it is shown. A figure that
// isn't Known is drawn as nothing, and its text says so in words.
type Value struct {
	Number float64
	Text   string
	Known  bool
}

// Table has a caption, headings of its columns, and rows whose first cell is their heading.
type Table struct {
	Caption string
	Columns []Column
	Rows    [][]string
	More    string // how many rows are left out, and where they are; "" when none
	Folded  bool   // shown when the reader asks for it, and in print
}

// Column is one column of a Table.
type Column struct {
	Heading string
	Unit    string
	Number  bool // set to the right
}
