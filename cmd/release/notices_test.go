package main

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"
)

// TestNotices: each component of each target is named with its licences, whose texts are
// there in full; the engine's are those of the engine that is linked in.
func TestNotices(t *testing.T) {
	var everything []component
	for _, one := range targets {
		everything = append(everything, componentsOf(t, one)...)
	}
	text := string(notices("0.1.0", everything))
	for _, c := range everything {
		if c.name == programModule {
			continue
		}
		line := "\n  " + c.name + " " + c.version + ": " + strings.Join(c.licences, ", ") + "\n"
		if strings.Count(text, line) != 1 {
			t.Errorf("%q is there %d times", line, strings.Count(text, line))
		}
		for _, licence := range c.texts {
			if !strings.Contains(text, strings.TrimSpace(licence.text)) {
				t.Errorf("%s: its %s is not there in full", c.name, licence.file)
			}
		}
	}
	for _, name := range []string{"github.com/spf13/cobra", "github.com/inconshreveable/mousetrap", goName} {
		if !slices.ContainsFunc(everything, func(c component) bool { return c.name == name }) {
			t.Errorf("%s is linked in and not listed", name)
		}
	}
}

// TestEngineVersion: the bindings are v0.1XXYY.0 for the engine 1.XX.YY; the library that is
// fetched for Windows and the licences are of that engine.
func TestEngineVersion(t *testing.T) {
	var bindings string
	for _, c := range componentsOf(t, targets[0]) {
		if c.name == "github.com/duckdb/duckdb-go-bindings" {
			bindings = c.version
		}
	}
	var number int
	if _, err := fmt.Sscanf(bindings, "v0.%d.0", &number); err != nil {
		t.Fatalf("bindings %q: %v", bindings, err)
	}
	engine := fmt.Sprintf("%d.%d.%d", number/10000, number/100%100, number%100)
	for _, part := range []string{"engine-parts", "engine-library"} {
		c, err := partOf(part)
		if err != nil || c.version != engine {
			t.Errorf("%s is of %s, the bindings of %s (%v)", part, c.version, engine, err)
		}
	}
	script, err := os.ReadFile("../../.ci/engine-library")
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(script), "\nengine="+engine+"\n") {
		t.Errorf(".ci/engine-library does not fetch %s", engine)
	}
}

func TestLicences(t *testing.T) {
	const given = "Permission is hereby granted, free of charge, to any person obtaining a copy of\nthis software and associated documentation files, … THE SOFTWARE IS PROVIDED \"AS IS\""
	const redistribute = "// Redistribution and use in source and binary forms, with or without\n// modification, are permitted provided that …"
	for _, c := range []struct{ text, want string }{
		{given, "MIT"},
		{redistribute + " used to endorse or promote products derived", "BSD-3-Clause"},
		{redistribute + " THIS SOFTWARE IS PROVIDED BY", "BSD-2-Clause"},
		{"Apache License\n   Version 2.0, January 2004", "Apache-2.0"},
		{"GNU GENERAL PUBLIC LICENSE Version 3", ""},
		{"All rights reserved.", ""},
	} {
		if got := strings.Join(licencesIn(c.text), ","); got != c.want {
			t.Errorf("%q is %q, want %q", c.text, got, c.want)
		}
	}
	unknown := component{name: "example.org/x", version: "v1.0.0", texts: []licenceText{{"LICENSE", "All rights reserved."}}}
	if err := unknown.nameLicences(); err == nil {
		t.Error("a component without a known licence is taken")
	}
}
