package main

import (
	"flag"
	"fmt"
	"io"
	"os"

	"trusstally/reports/compare"
)

// usualRunLuck is the log deviation of a run beside that of its shift.
const usualRunLuck = 0.25

func main() {
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

func run(arguments []string, output, errors io.Writer) int {
	flags := flag.NewFlagSet("simulate", flag.ContinueOnError)
	flags.SetOutput(errors)
	plants := flags.Int("plants", 400, "how many plants to make")
	resamples := flags.Int("resamples", compare.DefaultResamples, "resamples of each interval")
	seed := flags.Uint64("seed", 1, "seed of plants and resamples")
	runLuck := flags.Float64("run-luck", usualRunLuck, "log deviation of a single run")
	weeks := flags.Int("weeks", 0, "weeks of every plant, 4 at least; 0 for 13 to 26 by chance")
	if flags.Parse(arguments) != nil {
		return 2
	}
	if *plants < 1 || *resamples < 2 || *runLuck < 0 || *weeks < 4 && *weeks != 0 || flags.NArg() > 0 {
		fmt.Fprintln(errors, "simulate needs at least 1 plant, 2 resamples, 4 weeks, and luck of 0 or more")
		return 2
	}
	found := measure(*plants, *resamples, *seed, setting{weeks: *weeks, runLuck: *runLuck})
	found.print(output)
	wrong := out(found.bounds(0.93, 0.97, 0.05))
	for _, line := range wrong {
		fmt.Fprintln(errors, line)
	}
	if len(wrong) > 0 {
		return 1
	}
	return 0
}
