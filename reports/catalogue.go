package reports

import (
	"fmt"
	"io/fs"
	"path"
	"slices"

	"trusstally/ingest/problem"
)

// Book is one workbook: its reader and its sheets in order.
type Book struct {
	Name    string
	Title   string
	Reader  string
	Monthly bool // by month rather than by week
	Sheets  []*Definition
	Asked   []*Definition // sheets that report writes when asked, and the book doesn't hold

	front, checks, files *Definition // of every book; nil for a book of one sheet
}

// bookPlans says which sheets stand in which book, in which order.
var bookPlans = []struct {
	name, title, reader string
	monthly             bool
	sheets              []string
}{
	{"job-margin", "Job margin", "general manager", false, []string{"margin_summary", "margin_by_job", "biggest_moves", "margin_bridge", "bridge_by_job", "open_jobs", "margin_by_customer", "on_time_backlog", "exceptions"}},
	{"lumber-yield", "Lumber yield", "purchasing", false, []string{"board_feet_by_grade", "waste", "waste_by", "waste_by_class", "stock_lengths", "cut_plan", "buy_list", "grade_substitution", "prices_paid", "price_trend"}},
	{"crews-shifts", "Crews and shifts", "owner", false, []string{"like_for_like", "like_for_like_detail", "truss_classes", "funnel", "trend", "change_study", "change_words", "labour_per_truss", "setup_and_batch", "minutes_accounted", "quality_and_safety"}},
	{"month-end", "Month end", "accountant", true, []string{"board_rollforward", "received_not_invoiced", "wip_rollforward", "cost_of_goods_sold", "overhead", "payroll_bridge", "punches_to_settle", "journal", "corrections"}},
}

// askedSheets are the sheets of a book's folder that answer a question of their own.
var askedSheets = map[string][]string{"crews-shifts": {"what_if"}}

// Books reads the report definitions of the folder, one sub-folder a book.
func Books(files fs.FS) ([]*Book, error) {
	var books []*Book
	for _, plan := range bookPlans {
		book := &Book{Name: plan.name, Title: plan.title, Reader: plan.reader, Monthly: plan.monthly}
		var err error
		if book.front, err = definition(files, "every-book", "front"); err != nil {
			return nil, err
		}
		if book.checks, err = definition(files, "every-book", "checks"); err != nil {
			return nil, err
		}
		if book.files, err = definition(files, "every-book", "files"); err != nil {
			return nil, err
		}
		for _, sheet := range plan.sheets {
			d, err := definition(files, plan.name, sheet)
			if err != nil {
				return nil, err
			}
			book.Sheets = append(book.Sheets, d)
		}
		for _, sheet := range askedSheets[plan.name] {
			d, err := definition(files, plan.name, sheet)
			if err != nil {
				return nil, err
			}
			book.Asked = append(book.Asked, d)
		}
		books = append(books, book)
	}
	return books, nil
}

// definition reads one sheet's file.
func definition(files fs.FS, folder, sheet string) (*Definition, error) {
	file := path.Join(folder, sheet+".sql")
	text, err := fs.ReadFile(files, file)
	if err != nil {
		return nil, err
	}
	d, err := ParseDefinition("sql/reports/"+file, string(text))
	if err != nil {
		return nil, err
	}
	if d.Sheet != sheet {
		return nil, fmt.Errorf("sql/reports/%s calls its sheet %s", file, d.Sheet)
	}
	if d.Book != "" {
		return nil, fmt.Errorf("sql/reports/%s names its book, which its folder does", file)
	}
	return d, nil
}

// Find returns the book of that name, or a book of the one sheet of that name. An unknown
// name is a problem.List with the nearest valid one.
func Find(books []*Book, name string) (*Book, error) {
	var names []string
	for _, book := range books {
		if book.Name == name {
			return book, nil
		}
		names = append(names, book.Name)
		for _, sheet := range slices.Concat(book.Sheets, book.Asked) {
			if sheet.Sheet == name {
				single := *book
				single.Sheets, single.front, single.checks, single.files = []*Definition{sheet}, nil, nil, nil
				return &single, nil
			}
			names = append(names, sheet.Sheet)
		}
	}
	hint := "trusstally list shows all sheets and books"
	if near := problem.Nearest(name, names); near != "" {
		hint = "did you mean " + near + "?"
	}
	return nil, problem.List{{What: fmt.Sprintf("there is no sheet or book of that name (%s)", name), Code: "unknown-report", Usage: true, Hint: hint}}
}
