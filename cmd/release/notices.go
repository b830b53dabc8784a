package main

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
)

// noticesName is the file with the licences of all that is linked in.
const noticesName = "THIRD-PARTY-NOTICES.txt"

// notices lists the components of all targets by name, each once, with its licences in
// full.
func notices(version string, components []component) []byte {
	components = slices.Clone(components)
	slices.SortStableFunc(components, func(a, b component) int { return strings.Compare(a.name+" "+a.version, b.name+" "+b.version) })
	components = slices.CompactFunc(components, func(a, b component) bool { return a.name == b.name && a.version == b.version })
	components = slices.DeleteFunc(components, func(c component) bool { return c.name == programModule })
	var out bytes.Buffer
	fmt.Fprintf(&out, "trusstally %s is under the Apache License 2.0 (LICENSE). It holds code by others:\n\n", version)
	for _, c := range components {
		fmt.Fprintf(&out, "  %s %s: %s\n", c.name, c.version, strings.Join(c.licences, ", "))
	}
	for _, c := range components {
		fmt.Fprintf(&out, "\n%s\n%s %s\n", strings.Repeat("=", 80), c.name, c.version)
		for _, text := range c.texts {
			fmt.Fprintf(&out, "\n%s\n", strings.TrimSpace(text.text))
		}
	}
	return out.Bytes()
}
