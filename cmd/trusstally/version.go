package main

import (
	"encoding/json"
	"fmt"
	"runtime"
	"runtime/debug"

	engine "github.com/duckdb/duckdb-go-bindings"
	"github.com/spf13/cobra"

	"trusstally/reports"
)

// commit is the commit that a release was built from. The linker fills it in
// (-X main.commit=…, see .ci/release); in other builds it is empty.
var commit string

// versions is what the program knows about itself.
type versions struct {
	Version  string `json:"version"` // of the release; the front sheet of every book has it too
	Commit   string `json:"commit"`  // "" where the build doesn't say
	Engine   string `json:"engine"`  // of the database library that is loaded, as 1.5.6
	Go       string `json:"go"`
	Platform string `json:"platform"` // system/processor
}

// ownVersions asks the loaded library and the build. It opens no database.
func ownVersions() versions {
	v := versions{
		Version: reports.Version, Commit: commit, Engine: engine.LibraryVersion(),
		Go: runtime.Version(), Platform: runtime.GOOS + "/" + runtime.GOARCH,
	}
	if v.Engine != "" && v.Engine[0] == 'v' {
		v.Engine = v.Engine[1:]
	}
	build, ok := debug.ReadBuildInfo()
	if v.Commit != "" || !ok {
		return v
	}
	for _, setting := range build.Settings {
		if setting.Key == "vcs.revision" {
			v.Commit = setting.Value
		}
	}
	return v
}

func (p *program) versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Say which release this is, and which engine it runs on",
		Long: `Prints the release, the commit that it was built from, and the versions of the database
engine, of Go and of the platform. It never opens a plant.`,
		Example: `  # What to say when something is reported
  trusstally version

  # For a program
  trusstally version --json`,
		Args: cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			v := ownVersions()
			if p.asJSON {
				return json.NewEncoder(p.stdout).Encode(v)
			}
			built := v.Commit
			if built == "" {
				built = "not stated by this build"
			}
			_, err := fmt.Fprintf(p.stdout, "%s %s\ncommit   %s\nengine   DuckDB %s\nbuilt    %s for %s\n", programName, v.Version, built, v.Engine, v.Go, v.Platform)
			return err
		},
	}
}
