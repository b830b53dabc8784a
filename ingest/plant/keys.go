package plant

import (
	"reflect"
	"strings"
)

// Key is one setting that plant.toml may hold.
type Key struct {
	Section string // plant, pay, station, feed and so on
	Name    string // the key, or the table below the section, such as packs of [lumber]
}

// Keys are all settings of plant.toml as this version declares them, in the order of the
// declaration. The names of the journal's accounts are AccountNames, those of the feeds are
// not this package's.
func Keys() []Key {
	var keys []Key
	root := reflect.TypeFor[document]()
	for i := range root.NumField() {
		section := root.Field(i)
		name := tomlName(section)
		switch held := elementOf(section.Type); {
		case held.Kind() != reflect.Struct: // [accounts]
			for _, account := range AccountNames {
				keys = append(keys, Key{name, account})
			}
		default:
			for k := range held.NumField() {
				keys = append(keys, Key{name, tomlName(held.Field(k))})
			}
		}
	}
	return keys
}

func tomlName(field reflect.StructField) string {
	name, _, _ := strings.Cut(field.Tag.Get("toml"), ",")
	return name
}

// elementOf is what a section holds: itself, or one of several.
func elementOf(held reflect.Type) reflect.Type {
	if held.Kind() == reflect.Slice || held.Kind() == reflect.Map {
		return held.Elem()
	}
	return held
}

// feedKeys are the keys of [feed.NAME] and its tables.
func feedKeys() []string {
	var names []string
	for _, key := range Keys() {
		if key.Section == "feed" {
			names = append(names, key.Name)
		}
	}
	return names
}
