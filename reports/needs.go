package reports

// Need is a feed that a book reads, and what of the book stays blank, or is not there, without
// it. Settings can make a plant need less: `check` says what stands in.
type Need struct {
	Feed    string
	Without string
}

// bookNeeds names what each book can't do without, the feeds that most hangs on first. It
// holds no feed that only adds to a book.
var bookNeeds = map[string][]Need{
	"job-margin": {
		{"jobs", "no row at all: what was sold, at which price and quote"},
		{"trusses", "whether a job is built, its plates, and margin of jobs that are not known to be complete"},
		{"completions", "labour of jobs, and margins: no job is known to be built"},
		{"timecards", "labour of jobs, and with it their margins"},
		{"wages", "labour dollars, and with them margins"},
		{"lumber_usage", "lumber of jobs, and margins; [lumber] usage = \"backflush\" in plant.toml takes boards by design"},
		{"receipts", "prices of the lumber that jobs took"},
		{"job_costs", "deliveries, hardware and other costs from outside"},
		{"invoices", "billed amounts, and credits off the revenue"},
	},
	"lumber-yield": {
		{"lumber_usage", "boards issued, and waste; [lumber] usage = \"backflush\" in plant.toml takes boards by design"},
		{"receipts", "stock and prices"},
		{"trusses", "how many plies of which parts were cut"},
		{"cut_pieces", "waste by size and grade, and cutting plans; design_bf of trusses serves for waste in all"},
		{"completions", "finished parts, and with them yield and waste"},
	},
	"crews-shifts": {
		{"completions", "trusses built, by crew, shift and station"},
		{"timecards", "people-minutes"},
		{"trusses", "kinds of truss, on which crews are compared like for like"},
		{"wages", "who builds and who serves, and dollars"},
	},
	"month-end": {
		{"receipts", "stock and lumber received"},
		{"lumber_usage", "lumber issued to jobs"},
		{"jobs", "revenue, work in process and cost of goods sold"},
		{"completions", "what of a job is finished goods"},
		{"timecards", "labour and the payroll bridge"},
		{"wages", "labour dollars and the payroll bridge"},
		{"overheads", "overhead as it was, beside what was applied"},
		{"payroll", "the register that pay is tied to"},
		{"invoices", "billings, deposits and receivables"},
	},
}

// Needs is what the book can't do without, in the order of what most hangs on.
func (b *Book) Needs() []Need { return bookNeeds[b.Name] }
