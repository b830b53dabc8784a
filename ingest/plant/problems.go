package plant

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"trusstally/ingest/problem"
)

// knownNames are the sections and keys that plant.toml may hold, for the nearest valid name
// of a misspelt one.
func knownNames() []string {
	var names []string
	for _, key := range Keys() {
		names = append(names, key.Section, key.Name)
	}
	return names
}

func decodeProblems(err error) problem.List {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) {
		var list problem.List
		for _, e := range strict.Errors {
			line, column := e.Position()
			key := e.Key()
			last := key[len(key)-1]
			hint := "delete the line, or see the settings in README.md"
			if near := problem.Nearest(last, knownNames()); near != "" {
				hint = fmt.Sprintf("did you mean %s?", near)
			}
			list = append(list, &problem.Problem{
				Place: fmt.Sprintf("%s:%d:%d", FileName, line, column), What: fmt.Sprintf("unknown setting (%s)", strings.Join(key, ".")),
				Code: CodeUnknownSetting, Hint: hint, Usage: true,
			})
		}
		return list
	}
	var decode *toml.DecodeError
	if errors.As(err, &decode) {
		line, column := decode.Position()
		return problem.List{{
			Place: fmt.Sprintf("%s:%d:%d", FileName, line, column), What: "not readable as a setting", Code: CodeBadSetting,
			Row: decode.String(), Hint: "text stands in double quotes, numbers without", Usage: true, Cause: err,
		}}
	}
	return problem.List{{Place: FileName, What: "not readable", Code: CodeBadSetting, Usage: true, Cause: err}}
}

// place finds the line of a setting: the key within its section, else the section, else
// the file.
func (r *reader) place(section, key string) string {
	keyPattern := regexp.MustCompile(`^\s*["']?` + regexp.QuoteMeta(key) + `["']?\s*=`)
	at, inSection := 0, section == ""
	for i, line := range strings.Split(r.text, "\n") {
		trimmed := strings.TrimSpace(line)
		if strings.HasPrefix(trimmed, "[") {
			inSection = sectionOf(trimmed) == section
			if inSection && at == 0 {
				at = i + 1
			}
			continue
		}
		if inSection && keyPattern.MatchString(line) {
			return fmt.Sprintf("%s:%d:%d", FileName, i+1, len(line)-len(strings.TrimLeft(line, " \t"))+1)
		}
	}
	if at > 0 {
		return fmt.Sprintf("%s:%d", FileName, at)
	}
	return FileName
}
