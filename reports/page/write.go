package page

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"os"

	"trusstally/reports/workbook"
)

//go:embed page.html
var pageText string

//go:embed style.css
var styleSheet string

// Write writes the page. Every text of it is escaped for the place where it stands.
func Write(w io.Writer, p Page) error {
	charts := 0
	parsed, err := template.New("page").Funcs(template.FuncMap{
		"styles": func() template.CSS { return template.CSS(styles()) },
		"drawing": func(f Figure) template.HTML {
			if f.Chart == nil {
				return ""
			}
			charts++
			return template.HTML(drawing(f, fmt.Sprintf("chart%d", charts)))
		},
	}).Parse(pageText)
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	if err := parsed.Execute(w, p); err != nil {
		return fmt.Errorf("page: %w", err)
	}
	return nil
}

// WriteFile writes the page to a file of this mode, whole or not at all.
func WriteFile(path string, mode os.FileMode, p Page) error {
	return workbook.WriteWhole(path, mode, func(w io.Writer) error { return Write(w, p) })
}

// IsEmpty says whether the section has nothing to show but its word for that.
func (s Section) IsEmpty() bool {
	return s.Empty != "" && len(s.Tiles)+len(s.Groups)+len(s.Figures)+len(s.Tables) == 0
}
