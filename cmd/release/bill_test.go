package main

import (
	"encoding/json"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/xeipuuv/gojsonschema"
)

// componentsOf are a target's, from the sources of this tree.
func componentsOf(t *testing.T, one target) []component {
	t.Helper()
	components, err := one.components("../..")
	if err != nil {
		t.Fatal(err)
	}
	return components
}

// TestBill: the bill of each target is valid by the format's own schema, lists what go
// mod knows to be needed, and is the same twice.
func TestBill(t *testing.T) {
	schema := billSchema(t)
	r := release{version: "0.1.0", commit: strings.Repeat("0", 40), when: packedWhen}
	for _, one := range targets {
		t.Run(one.name(), func(t *testing.T) {
			components := componentsOf(t, one)
			text, err := r.bill(one, components, packed)
			if err != nil {
				t.Fatal(err)
			}
			result, err := schema.Validate(gojsonschema.NewBytesLoader(text))
			if err != nil {
				t.Fatal(err)
			}
			for _, wrong := range result.Errors() {
				t.Error(wrong)
			}
			again, err := r.bill(one, componentsOf(t, one), packed)
			if err != nil || string(again) != string(text) {
				t.Errorf("the same release has another bill (%v)", err)
			}
			var bill struct {
				Components []struct {
					Ref string `json:"bom-ref"`
				}
				Dependencies []struct {
					Ref       string
					DependsOn []string
				}
			}
			if err := json.Unmarshal(text, &bill); err != nil {
				t.Fatal(err)
			}
			// Everything that is listed is reached from the program.
			calls := map[string][]string{}
			for _, dependency := range bill.Dependencies {
				calls[dependency.Ref] = dependency.DependsOn
			}
			reached := map[string]bool{}
			for queue := []string{programModule}; len(queue) > 0; queue = queue[1:] {
				for _, next := range calls[queue[0]] {
					if !reached[next] {
						reached[next] = true
						queue = append(queue, next)
					}
				}
			}
			for _, c := range bill.Components {
				if !reached[c.Ref] {
					t.Errorf("%s is listed, and nothing calls it", c.Ref)
				}
				delete(reached, c.Ref)
			}
			for _, left := range slices.Sorted(maps.Keys(reached)) {
				t.Errorf("%s is called, and not listed", left)
			}
		})
	}
	// The schema is one that can fail.
	result, err := schema.Validate(gojsonschema.NewStringLoader(`{"bomFormat": "CycloneDX", "specVersion": "1.6", "components": [{"name": "x"}]}`))
	if err != nil || result.Valid() {
		t.Errorf("the schema takes a component without a type (%v)", err)
	}
}

// billSchema is the schema of CycloneDX 1.6, which comes with the library that writes it.
func billSchema(t *testing.T) *gojsonschema.Schema {
	t.Helper()
	folder, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/CycloneDX/cyclonedx-go").Output()
	if err != nil {
		t.Fatal(err)
	}
	load := func(name string) gojsonschema.JSONLoader {
		text, err := os.ReadFile(filepath.Join(strings.TrimSpace(string(folder)), "schema", name))
		if err != nil {
			t.Fatal(err)
		}
		return gojsonschema.NewBytesLoader(text)
	}
	loader := gojsonschema.NewSchemaLoader()
	for _, name := range []string{"spdx.schema.json", "jsf-0.82.schemax.json"} {
		if err := loader.AddSchema("http://cyclonedx.org/schema/"+strings.Replace(name, "schemax", "schema", 1), load(name)); err != nil {
			t.Fatal(err)
		}
	}
	schema, err := loader.Compile(load("bom-1.6.schema.json"))
	if err != nil {
		t.Fatal(err)
	}
	return schema
}
