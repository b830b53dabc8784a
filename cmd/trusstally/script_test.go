package main

import (
	"context"
	"flag"
	"fmt"
	"os"
	"regexp"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"trusstally/sql/warehouse"
)

// TestMain lets the scripts of testdata/script run the program as a process of its own,
// and a second one that holds a warehouse open.
func TestMain(m *testing.M) {
	// The tests' plants are small: a second thread of the engine only costs.
	if err := os.Setenv(warehouse.ThreadsVariable, "1"); err != nil {
		panic(err)
	}
	testscript.Main(m, map[string]func(){
		"trusstally":     main,
		"hold-warehouse": holdWarehouse,
	})
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
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
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
			// mode FILE 600 holds the file's permissions against the given ones.
			"mode": func(ts *testscript.TestScript, _ bool, args []string) {
				info, err := os.Stat(ts.MkAbs(args[0]))
				ts.Check(err)
				if got := fmt.Sprintf("%o", info.Mode().Perm()); got != args[1] {
					ts.Fatalf("%s has mode %s, want %s", args[0], got, args[1])
				}
			},
		},
	})
}
