package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"

	"trusstally/reports"
)

// manCommand is for who makes a release: it is in no list of commands.
func (p *program) manCommand() *cobra.Command {
	return &cobra.Command{
		Use:    "man DIR",
		Short:  "Write a manual page for each command",
		Hidden: true,
		Long: `Writes a manual page for each command into DIR, trusstally.1 and trusstally-run.1 and
so on, from what --help says. They carry the month of the environment's SOURCE_DATE_EPOCH
where it is set, so that two releases of one source hold the same bytes. It reads no
plant.`,
		Example: `  # For a release
  trusstally man dist/man`,
		Args: cobra.ExactArgs(1),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
			return nil, cobra.ShellCompDirectiveFilterDirs
		},
		RunE: func(command *cobra.Command, args []string) error {
			if err := os.MkdirAll(args[0], 0o755); err != nil {
				return err
			}
			root := command.Root()
			pages := append([]*cobra.Command{root}, root.Commands()...)
			for _, page := range pages {
				if page != root && !page.IsAvailableCommand() {
					continue
				}
				if err := p.writeManPage(page, args[0]); err != nil {
					return err
				}
			}
			return nil
		},
	}
}

func (p *program) writeManPage(command *cobra.Command, folder string) error {
	name := programName
	if command.HasParent() {
		name += "-" + command.Name()
	}
	file, err := os.Create(filepath.Join(folder, name+".1"))
	if err != nil {
		return err
	}
	header := &doc.GenManHeader{Title: name, Section: "1", Source: programName + " " + reports.Version, Manual: "Weekly costs and margins of a truss plant"}
	if os.Getenv("SOURCE_DATE_EPOCH") == "" {
		now := p.now()
		header.Date = &now
	}
	if err := doc.GenMan(command, header, file); err != nil {
		file.Close()
		return fmt.Errorf("the manual page of %s: %w", name, err)
	}
	return file.Close()
}
