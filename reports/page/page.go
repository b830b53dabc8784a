package page

// Page is one file. Alarms stand above everything else.
type Page struct {
	Title    string // of the window
	Heading  string // the only first-level heading
	Subtitle string // what the page covers
	Alarms   []Finding
	Status   []Words // sentences below the heading
	Links    []Link  // files beside this one
	Sections []Section
	Footer   []Words
	Wall     bool // for a screen on a wall, read from afar
}

// Place is the cell of a sheet that a figure stands in, in a book beside the page.
type Place struct{ Book, Sheet, Cell string }

// Cell is a text, and its Place if it is the text of one; the zero Place is none.
type Cell struct {
	Text  string
	Place Place
}

// Words is a sentence in pieces: texts, and cells among them.
type Words []Cell

// Say is a sentence of strings and Cells. Other types are a mistake of the caller's and panic.
func Say(pieces ...any) Words {
	words := make(Words, len(pieces))
	for i, piece := range pieces {
		switch p := piece.(type) {
		case string:
			words[i] = Cell{Text: p}
		case Cell:
			words[i] = p
		default:
			panic("page: a piece of a sentence is a string or a Cell")
		}
	}
	return words
}

// String is the sentence without its places.
func (w Words) String() string {
	text := ""
	for _, piece := range w {
		text += piece.Text
	}
	return text
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

// Tile is one figure in large type. Without a Unit its text is words, such as what isn't
// known.
type Tile struct {
	Label  string
	Figure Cell
	Unit   string
	Beside Words
}

// Group is findings of one kind.
type Group struct {
	Heading  string
	Link     Link // the zero Link is none
	Findings []Finding
	More     string // where the findings are that are left out; "" when none
}

// Finding is a sentence with the figures that belong to it, each with its unit.
type Finding struct {
	Item, Sentence Cell
	Figures        []Amount
}

// Amount is a figure, what it is if its unit doesn't say so, and its unit.
type Amount struct {
	Name   string
	Figure Cell
	Unit   string
}

// Figure is a chart under a title that says its finding, what it shows in words for who
// can't see it, and the table of its figures.
type Figure struct {
	Title       Words
	Description string // what the chart shows, without its figures
	Chart       Chart  // nil where there is nothing to draw: Empty says so
	Empty       string
	Table       *Table
	Source      Link // the book that has the sheet
}

// Chart is what draws itself in the panel's width.
type Chart interface {
	draw(c *canvas)
	legend() []legendEntry
}

// Value is a figure: where it stands on a scale, and the cell that shows it. A figure that
// isn't Known is drawn as nothing.
type Value struct {
	Cell
	Number float64
	Known  bool
}

// Table has a caption, headings of its columns, and rows whose first cell is their heading.
type Table struct {
	Caption string
	Columns []Column
	Rows    [][]Cell
	More    string // where the rows are that are left out; "" when none
	Folded  bool   // shown when the reader asks for it; left out of print
}

// Column is one column of a Table.
type Column struct {
	Heading string
	Unit    string
	Number  bool // set to the right
}
