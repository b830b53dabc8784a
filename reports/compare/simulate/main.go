package main

import (
	"flag"
	"fmt"
	"io"
	"os"

	"trusstally/reports/compare"
)

func main() {
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

func run(arguments []string, output, errors io.Writer) int {
	flags := flag.NewFlagSet("simulate", flag.ContinueOnError)
	flags.SetOutput(errors)
	plants := flags.Int("plants", 400, "how many plants to make")
	resamples := flags.Int("resamples", compare.DefaultResamples, "resamples of each interval")
	seed := flags.Uint64("seed", 1, "seed of plants and resamples")
	if flags.Parse(arguments) != nil {
		return 2
	}
	if *plants < 1 || *resamples < 2 || flags.NArg() > 0 {
		fmt.Fprintln(errors, "simulate needs at least 1 plant and 2 resamples")
		return 2
	}
	found := measure(*plants, *resamples, *seed)
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
