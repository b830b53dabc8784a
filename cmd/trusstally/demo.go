package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"trusstally/fixtures"
)

// demoSeed makes every demo plant the same plant.
const demoSeed = 1

func (p *program) demoCommand() *cobra.Command {
	var to string
	command := &cobra.Command{
		Use:   "demo",
		Short: "Make an invented plant with thirteen weeks of records, and its books",
		Long: `Makes the folder of an invented plant with thirteen weeks of records, reads them and
writes the books of its last week and month, as run does. Some of its files hold
mistakes on purpose, so that you see how they are reported. Nothing else is touched.`,
		Example: `  # Look around
  trusstally demo
  trusstally report margin_by_job --plant demo-plant --format csv`,
		Args: cobra.NoArgs,
		RunE: func(command *cobra.Command, _ []string) error {
			plant := fixtures.DemoPlant(demoSeed)
			if err := makePlantFolder(to, plant.PlantTOML); err != nil {
				return err
			}
			if err := plant.Write(to); err != nil {
				return err
			}
			p.plantFolder = to
			f, err := p.openFolder()
			if err != nil {
				return err
			}
			if err := p.runWeek(command.Context(), f, plant.LastWeek, false); err != nil {
				return err
			}
			fmt.Fprintf(p.stderr, "The plant is in %s. Try: trusstally report margin_by_job --plant %s --format csv\n", to, to)
			return nil
		},
	}
	command.Flags().StringVar(&to, "to", "demo-plant", "the folder to make")
	return command
}
