package plant

import (
	"fmt"
	"time"
)

// Reports is what the plant's own sheets, and queries, may do.
type Reports struct {
	Wages     []string      // names of the own sheets that may read wages
	Longest   time.Duration // a sheet of the plant's own, or a query, is stopped after so long
	MemoryMiB int           // and at so much memory
}

type reportsSection struct {
	Wages          []string `toml:"wages"`
	LongestSeconds *float64 `toml:"longest_seconds"`
	MemoryMiB      *float64 `toml:"memory_mib"`
}

func (r *reader) reports(section reportsSection) Reports {
	known := map[string]bool{}
	for _, name := range section.Wages {
		if name == "" || known[name] {
			r.fail(CodeBadSetting, "reports", "wages", fmt.Sprintf("a sheet without a name, or twice the same (%s)", name), "name each sheet once")
		}
		known[name] = true
	}
	return Reports{
		Wages:     section.Wages,
		Longest:   time.Duration(r.whole("reports", "longest_seconds", section.LongestSeconds, 60, 1, 3600)) * time.Second,
		MemoryMiB: r.whole("reports", "memory_mib", section.MemoryMiB, 1024, 64, 65536),
	}
}
