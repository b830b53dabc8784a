package reports

import (
	"context"
	"slices"
	"strings"
	"testing"

	"trusstally/sql/warehouse"
)

// groupOf reads two plants, of which nothing is known, into a group, beside one that is left
// out.
func groupOf(t *testing.T) (*Group, *warehouse.Warehouse, *GroupBooks) {
	t.Helper()
	ctx := context.Background()
	period, err := Week("2026-W46", 1)
	if err != nil {
		t.Fatal(err)
	}
	group, err := NewGroup(warehouse.ReportFiles(), period)
	if err != nil {
		t.Fatal(err)
	}
	list := []*GroupPlant{{Name: "O'Mill", LeftOut: "it's away [no-plant]"}}
	for _, name := range []string{"Yard", "Mill"} {
		sheets, err := group.Read(ctx, emptyPlant(t))
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { sheets.Close() })
		list = append(list, &GroupPlant{Name: name, Sheets: sheets})
	}
	memory, err := warehouse.OpenMemory(ctx)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { memory.Close() })
	books, err := group.Books(ctx, memory, list)
	if err != nil {
		t.Fatal(err)
	}
	return group, memory, books
}

// TestGroupPlantsMatchTheirSQL holds the header of the sheet plants against its SQL, as
// TestHeadersMatchTheirSQL does for the plants' own sheets.
func TestGroupPlantsMatchTheirSQL(t *testing.T) {
	group, memory, _ := groupOf(t)
	err := memory.Query(context.Background(), group.plants.SQL, nil, func(columns []warehouse.ResultColumn) {
		if err := group.plants.checkColumns(columns); err != nil {
			t.Error(err)
			return
		}
		for i, column := range columns {
			if want := typesOfFormats[group.plants.Columns[i].Format]; !strings.HasPrefix(column.Type, want) {
				t.Errorf("%s is %s, its format %s wants %s", column.Name, column.Type, group.plants.Columns[i].Format, want)
			}
		}
	}, func([]any) error { return nil })
	if err != nil {
		t.Error(err)
	}
	for place, name := range map[int]string{frontPlant: "plant", frontState: "state", frontSays: "says"} {
		if group.plants.Columns[place].Name != name {
			t.Errorf("column %d is %s, not %s", place, group.plants.Columns[place].Name, name)
		}
	}
}

// TestGroupSheets: what a group leaves out is in a weekly book, and every other sheet of one
// stands in the group's, with the plant first, without charts and links; the states that the
// books speak of are those of the SQL.
func TestGroupSheets(t *testing.T) {
	group, _, books := groupOf(t)
	all, err := Books(warehouse.ReportFiles())
	if err != nil {
		t.Fatal(err)
	}
	left := 0
	for i, name := range books.Names() {
		of := group.books[i]
		book := books.workbook(of)
		whole := all[slices.IndexFunc(all, func(b *Book) bool { return b.Name == name })]
		if whole.Monthly {
			t.Errorf("%s holds pay", name)
		}
		want := []string{"plants"}
		for _, d := range whole.Sheets {
			if groupLeavesOut[d.Sheet] == "" {
				want = append(want, d.Sheet)
			} else {
				left++
			}
		}
		want = append(want, "checks", "definitions")
		var got []string
		for i, sheet := range book.Sheets {
			got = append(got, sheet.Name)
			if sheet.Name == "definitions" {
				continue
			}
			if sheet.Columns[0].Name != "plant" || i > 0 && len(sheet.Charts) > 0 {
				t.Errorf("%s: %v, %d charts", sheet.Name, sheet.Columns[0], len(sheet.Charts))
			}
			for _, column := range sheet.Columns {
				if column.Link != nil {
					t.Errorf("%s: %s leads somewhere", sheet.Name, column.Name)
				}
			}
			if !strings.HasPrefix(sheet.Notes[0], "LEFT OUT, in no figure of this ") || !strings.Contains(sheet.Notes[0], "O'Mill") {
				t.Errorf("%s begins with %q", sheet.Name, sheet.Notes[0])
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s has the sheets %q, want %q", name, got, want)
		}
		if !strings.Contains(book.Footer, "2 of 3 plants") {
			t.Errorf("%s: footer %q", name, book.Footer)
		}
	}
	if left != len(groupLeavesOut) {
		t.Errorf("%d sheets are left out, of %d that are named", left, len(groupLeavesOut))
	}
	for _, state := range []string{stateLeftOut, stateUnbalanced, stateNothing} {
		if !strings.Contains(group.plants.SQL, "'"+state+"'") {
			t.Errorf("the SQL says %s of no plant", state)
		}
	}
	var names []string
	for _, row := range books.front {
		names = append(names, text(row[frontPlant])+": "+text(row[frontState]))
	}
	if want := []string{"Mill: NOTHING LOGGED", "O'Mill: LEFT OUT", "Yard: NOTHING LOGGED"}; !slices.Equal(names, want) {
		t.Errorf("%q, want %q", names, want)
	}
}

// TestFrontColumns: each column of the sheet plants is in a book, none is named that is not
// there, and pace is in no book without what stands beside it.
func TestFrontColumns(t *testing.T) {
	plants, err := definition(warehouse.ReportFiles(), "group", "plants")
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for book, words := range frontColumns {
		shown, places := frontOf(plants, &Book{Name: book})
		if want := 3 + len(strings.Fields(words)); len(shown.Columns) != want || len(places) != want {
			t.Errorf("%s shows %d columns of %d", book, len(shown.Columns), want)
		}
		here := map[string]bool{}
		for _, column := range shown.Columns {
			seen[column.Name], here[column.Name] = true, true
		}
		for _, beside := range []string{"first_pass_pct", "inspected_pct", "cases", "case_rate"} {
			if here["labour_min_per_truss"] && !here[beside] {
				t.Errorf("%s shows labour a truss without %s", book, beside)
			}
		}
	}
	for _, column := range plants.Columns {
		if !seen[column.Name] {
			t.Errorf("no book shows %s", column.Name)
		}
	}
}
