package main

import "strings"

// licence is told by words that it has and others like it lack.
type licence struct {
	name  string // SPDX identifier
	has   []string
	lacks []string
}

// redistribution begins the licences of the BSD family.
const redistribution = "redistribution and use in source and binary forms, with or without modification, are permitted"

// licences are those that may be linked into the program: none asks for its sources.
var licences = []licence{
	{name: "Apache-2.0", has: []string{"apache license version 2.0, january 2004"}},
	{name: "BSD-2-Clause", has: []string{redistribution, "this software is provided by"}, lacks: []string{"endorse or promote products", "servicemarks"}},
	{name: "BSD-3-Clause", has: []string{redistribution, "endorse or promote products"}, lacks: []string{"servicemarks"}},
	{name: "MIT", has: []string{"permission is hereby granted, free of charge, to any person obtaining a copy of this software and associated documentation files", "the software is provided \"as is\""}},
	{name: "PostgreSQL", has: []string{"postgresql global development group", "without a written agreement is hereby granted"}},
	{name: "Unicode-DFS-2016", has: []string{"the unicode data files and any associated documentation"}},
	{name: "ZPL-2.1", has: []string{redistribution, "servicemarks"}},
}

// licencesIn returns the identifiers of the licences that the text holds, in order.
func licencesIn(text string) []string {
	text = strings.NewReplacer("//", " ", "\n>", "\n", "''", "\"", "``", "\"", "'as is'", "\"as is\"", "“", "\"", "”", "\"").Replace(strings.ToLower(text))
	words := strings.Join(strings.Fields(text), " ")
	var names []string
next:
	for _, one := range licences {
		for _, phrase := range one.has {
			if !strings.Contains(words, phrase) {
				continue next
			}
		}
		for _, phrase := range one.lacks {
			if strings.Contains(words, phrase) {
				continue next
			}
		}
		names = append(names, one.name)
	}
	return names
}
