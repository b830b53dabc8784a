package main

import (
	"fmt"
	"reflect"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"trusstally/ingest/plant"
)

// TestPlantTOMLExplainsEveryKey holds the plant.toml that new writes against the settings
// that the program declares: each is there, in use or in a remark, with a remark of its own or
// one before its section.
func TestPlantTOMLExplainsEveryKey(t *testing.T) {
	sections := map[string]string{}
	for _, section := range plantSections(string(blankPlant)) {
		sections[section.name] = section.text
	}
	keys := plant.Keys()
	if len(keys) < 60 {
		t.Fatalf("%d settings are declared", len(keys))
	}
	for _, key := range keys {
		name := regexp.QuoteMeta(key.Name)
		line := regexp.MustCompile(`(?m)^(# ?)?(` + name + ` *=.*|\[[a-z_.]+\.` + name + `[\].].*)$`).FindString(sections[key.Section])
		if line == "" {
			t.Errorf("[%s] %s is not in plant.toml", key.Section, key.Name)
			continue
		}
		// A line without a remark of its own stands in a block that begins with one.
		own := strings.Contains(strings.TrimPrefix(line, "#"), "#")
		for _, block := range strings.Split(sections[key.Section], "\n\n") {
			if strings.Contains(block, line) {
				own = own || regexp.MustCompile(`^# ?[A-Z]`).MatchString(block)
			}
		}
		if !own {
			t.Errorf("[%s] %s is not explained: %s", key.Section, key.Name, line)
		}
	}
}

// TestPlantTOMLDefaults: what the remarks of plant.toml call the default is what a setting is
// that is left out.
func TestPlantTOMLDefaults(t *testing.T) {
	text := string(blankPlant)
	stated := regexp.MustCompile(`(?m)^([a-z_]+) *= *("[^"]*"|[0-9.]+) *#.*default ("[^"]*"|[0-9.]+).*$`)
	found := stated.FindAllStringSubmatch(text, -1)
	if len(found) < 30 {
		t.Fatalf("%d settings state a default", len(found))
	}
	for _, line := range found {
		without := parsePlant(t, strings.Replace(text, line[0], "", 1))
		with := parsePlant(t, strings.Replace(text, line[0], fmt.Sprintf("%s = %s", line[1], line[3]), 1))
		if !reflect.DeepEqual(without, with) {
			t.Errorf("%s left out is not %s:\n%s", line[1], line[3], cmp.Diff(with.Pay, without.Pay))
		}
	}
}

func parsePlant(t *testing.T, text string) *plant.Settings {
	t.Helper()
	settings, err := plant.Parse([]byte(text), feedNames())
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	settings.Hash = ""
	return settings
}
