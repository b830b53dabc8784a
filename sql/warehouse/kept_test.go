package warehouse

import (
	"context"
	"strings"
	"testing"
	"time"
)

// TestKeepJobs: what is kept of the jobs answers for its days, and any other day is an error,
// also where nothing is kept because there is no job.
func TestKeepJobs(t *testing.T) {
	ctx := context.Background()
	w := builtWarehouse(t)
	from := time.Date(2026, 11, 9, 0, 0, 0, 0, time.UTC)
	if err := w.KeepJobs(ctx, from, from.AddDate(0, 0, 7)); err != nil {
		t.Fatal(err)
	}
	ask := func(text string) error {
		return w.Query(ctx, text, nil, nil, func([]any) error { return nil })
	}
	for _, text := range []string{
		"SELECT * FROM job_position(DATE '2026-11-09')", "SELECT * FROM job_position(DATE '2026-11-16')", "SELECT * FROM job_bridge(DATE '2026-11-16')", "SELECT * FROM job_bridge(DATE '2026-11-09')",
	} {
		if err := ask(text); err != nil {
			t.Errorf("%s: %v", text, err)
		}
	}
	for _, text := range []string{
		"SELECT * FROM job_position(DATE '2026-11-10')", "SELECT * FROM job_position(DATE '2100-01-01')", "SELECT * FROM job_bridge(DATE '2026-11-10')",
	} {
		if err := ask(text); err == nil || !strings.Contains(err.Error(), "is not kept for this day") {
			t.Errorf("%s: %v", text, err)
		}
	}
}
