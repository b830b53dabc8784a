package main

import (
	"context"
	"encoding/csv"
	"flag"
	"fmt"
	"maps"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/xuri/excelize/v2"

	"trusstally/sql/warehouse"
)

// TestMain lets the scripts of testdata/script run the program as a process of its own,
// and a second one that holds a warehouse open.
func TestMain(m *testing.M) {
	// The tests' plants are small: a second thread of the engine only costs.
	if err := os.Setenv(warehouse.ThreadsVariable, "1"); err != nil {
		panic(err)
	}
	programs := map[string]func(){"trusstally": main, "hold-warehouse": holdWarehouse}
	maps.Copy(programs, systemPrograms())
	testscript.Main(m, programs)
}

// holdWarehouse opens the warehouse file of its argument for writing, makes the file
// "held", and waits for the file "release", half a minute at the most.
func holdWarehouse() {
	w, err := warehouse.Open(context.Background(), os.Args[1])
	if err == nil {
		err = os.WriteFile("held", nil, 0o644)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	for range 3000 {
		if _, err := os.Stat("release"); err == nil {
			break
		}
		pause()
	}
	w.Close()
}

var (
	update        = flag.Bool("update", false, "rewrite what the tests expect: read the difference before you keep it")
	processNumber = regexp.MustCompile(`\(process \d+[^)]*\)`)
)

// cellValue is a text as a spreadsheet holds it that was typed into a cell.
func cellValue(text string) any {
	if number, err := strconv.ParseFloat(text, 64); err == nil {
		return number
	}
	if day, err := time.Parse(time.DateOnly, text); err == nil {
		return day
	}
	return text
}

// pause is between two looks at another process.
func pause() { time.Sleep(10 * time.Millisecond) }

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
		UpdateScripts: *update,
		Setup: func(env *testscript.Env) error {
			env.Setenv(warehouse.ThreadsVariable, "1")
			return nil
		},
		Cmds: scriptCommands(),
	})
}

// scriptCommands are what scripts can do besides running the program, those of the system
// among them.
func scriptCommands() map[string]func(ts *testscript.TestScript, neg bool, args []string) {
	commands := map[string]func(ts *testscript.TestScript, neg bool, args []string){
		// wait-for FILE waits until another process has made the file.
		"wait-for": func(ts *testscript.TestScript, _ bool, args []string) {
			for range 3000 {
				if _, err := os.Stat(ts.MkAbs(args[0])); err == nil {
					return
				}
				pause()
			}
			ts.Fatalf("%s did not appear", args[0])
		},
		// cmp-but-process FILE WANT compares as cmp does, whatever the number of the process
		// and, where the system tells it, its command.
		"cmp-but-process": func(ts *testscript.TestScript, _ bool, args []string) {
			got := processNumber.ReplaceAllString(ts.ReadFile(args[0]), "(process 1000)")
			if want := ts.ReadFile(args[1]); got != want {
				ts.Fatalf("%s is\n%swant\n%s", args[0], got, want)
			}
		},
		// book CSV SHEET FILE makes a workbook whose sheet has the rows of a CSV file, with
		// numbers and dates as a spreadsheet holds them.
		"book": func(ts *testscript.TestScript, _ bool, args []string) {
			rows, err := csv.NewReader(strings.NewReader(ts.ReadFile(args[0]))).ReadAll()
			ts.Check(err)
			book := excelize.NewFile()
			defer book.Close()
			ts.Check(book.SetSheetName("Sheet1", args[1]))
			for i, row := range rows {
				for k, text := range row {
					place, err := excelize.CoordinatesToCellName(k+1, i+1)
					ts.Check(err)
					ts.Check(book.SetCellValue(args[1], place, cellValue(text)))
				}
			}
			ts.Check(book.SaveAs(ts.MkAbs(args[2])))
		},
		// cells BOOK SHEET FILE writes the rows of a sheet into a file, cells parted by bars.
		"cells": func(ts *testscript.TestScript, _ bool, args []string) {
			book, err := excelize.OpenFile(ts.MkAbs(args[0]))
			ts.Check(err)
			defer book.Close()
			rows, err := book.GetRows(args[1], excelize.Options{RawCellValue: true})
			ts.Check(err)
			var text strings.Builder
			for _, row := range rows {
				fmt.Fprintln(&text, strings.Join(row, "|"))
			}
			ts.Check(os.WriteFile(ts.MkAbs(args[2]), []byte(text.String()), 0o600))
		},
		// no-formulas BOOK SHEET WORD… fails for a formula of the sheet that holds one of the words.
		"no-formulas": func(ts *testscript.TestScript, _ bool, args []string) {
			book, err := excelize.OpenFile(ts.MkAbs(args[0]))
			ts.Check(err)
			defer book.Close()
			rows, err := book.GetRows(args[1])
			ts.Check(err)
			found := 0
			for i, row := range rows {
				for k := range row {
					place, err := excelize.CoordinatesToCellName(k+1, i+1)
					ts.Check(err)
					formula, err := book.GetCellFormula(args[1], place)
					ts.Check(err)
					if formula != "" {
						found++
					}
					for _, word := range args[2:] {
						if strings.Contains(formula, word) {
							ts.Fatalf("%s holds the formula %s", place, formula)
						}
					}
				}
			}
			if found == 0 {
				ts.Fatalf("%s has no formulas at all: the test looks at the wrong sheet", args[1])
			}
		},
		// mode FILE 600 holds the file's permissions against the given ones.
		"mode": func(ts *testscript.TestScript, _ bool, args []string) {
			info, err := os.Stat(ts.MkAbs(args[0]))
			ts.Check(err)
			if got := fmt.Sprintf("%o", info.Mode().Perm()); got != args[1] {
				ts.Fatalf("%s has mode %s, want %s", args[0], got, args[1])
			}
		},
	}
	maps.Copy(commands, systemCommands())
	return commands
}
