package ingest

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest/problem"
)

// matched matches a header row with a feed and returns, for each cell, the canonical
// header that it stands for.
func matched(t *testing.T, feedName, row string, own map[string]string) ([]string, []string, error) {
	t.Helper()
	feed, known := FeedByName(feedName)
	if !known {
		t.Fatalf("no feed %s", feedName)
	}
	cells, err := newFramer(strings.NewReader(row)).next()
	if err != nil {
		t.Fatal(err)
	}
	h, warnings, err := matchHeader(cells, places{file: "x.csv"}, feed, own, nil)
	if err != nil {
		return nil, nil, err
	}
	names := make([]string, len(h.columns))
	for i, column := range h.columns {
		switch column {
		case unknownHeader:
			names[i] = "unknown"
		case rejectHeader:
			names[i] = "reject"
		default:
			names[i] = feed.Columns[column].Name
		}
	}
	return names, warnings, nil
}

func TestHeader(t *testing.T) {
	for _, c := range []struct {
		name, row      string
		own            map[string]string
		want, warnings []string
	}{
		{"canonical, in any order", "price_usd,job", nil, []string{"price_usd", "job"}, nil},
		{"case, blanks and underscores", " JOB ,Price  USD, Ordered On", nil, []string{"job", "price_usd", "ordered_on"}, nil},
		{"plain aliases", "Job No,Price", nil, []string{"job", "price_usd"}, nil},
		{"the plant's own", "Order,Sell Price", map[string]string{"job": "order", "price_usd": "Sell Price"}, []string{"job", "price_usd"}, nil},
		{"the plant's own is not in this file", "job,price_usd", map[string]string{"job": "Order"}, []string{"job", "price_usd"}, nil},
		{"the plant's own before the canonical", "job,order,price_usd", map[string]string{"job": "Order"}, []string{"unknown", "job", "price_usd"},
			[]string{"x.csv:1:1: jobs has no such column, it is left out (job)"}},
		{"the plant's own is canonical for another", "line,job,price_usd", map[string]string{"customer": "line"}, []string{"customer", "job", "price_usd"}, nil},
		{"reject columns are left out in silence", "reject_column,Reject Reason,job,price_usd", nil, []string{"reject", "reject", "job", "price_usd"}, nil},
		{"unknown", "job,price_usd,custmer,salesman", nil, []string{"job", "price_usd", "unknown", "unknown"},
			[]string{"x.csv:1:3: jobs has no such column, it is left out (custmer); did you mean customer?", "x.csv:1:4: jobs has no such column, it is left out (salesman)"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, warnings, err := matched(t, "jobs", c.row, c.own)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(c.want, got); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
			if diff := cmp.Diff(c.warnings, warnings); diff != "" {
				t.Errorf("warnings (-want +got):\n%s", diff)
			}
		})
	}
}

func TestHeaderRefusesAllAtOnce(t *testing.T) {
	_, _, err := matched(t, "jobs", "customer,,Customer", nil)
	var list problem.List
	if !errors.As(err, &list) {
		t.Fatalf("%v, want a list", err)
	}
	var codes []string
	for _, p := range list {
		codes = append(codes, p.Code)
	}
	if diff := cmp.Diff([]string{CodeBlankColumn, CodeRepeatedColumn, CodeMissingColumn}, codes); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

func TestNoHeaderHints(t *testing.T) {
	for row, want := range map[string]string{
		"job;price_usd":     "parted by semicolons",
		"job\tprice_usd":    "parted by tabs",
		"Job list of today": "the first row must name the columns",
	} {
		_, _, err := matched(t, "jobs", row, nil)
		var list problem.List
		if !errors.As(err, &list) || list[0].Code != CodeNoHeader || !strings.Contains(list[0].Hint, want) {
			t.Errorf("%q: %v, want [%s] and a hint with %q", row, err, CodeNoHeader, want)
		}
	}
}
