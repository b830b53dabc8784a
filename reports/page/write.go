package page

import (
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"os"
	"path/filepath"
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

// WriteFile writes the page to a file of this mode, whatever the umask. It is written under
// a temporary name beside it and renamed: the file at path is the old one or the whole new
// one.
func WriteFile(path string, mode os.FileMode, p Page) (failed error) {
	file, err := os.CreateTemp(filepath.Dir(path), ".unfinished-*.html")
	if err != nil {
		return fmt.Errorf("page: %w", err)
	}
	defer func() {
		if failed != nil {
			failed = errors.Join(failed, os.Remove(file.Name()))
		}
	}()
	err = Write(file, p)
	if err == nil {
		err = errors.Join(file.Chmod(mode), file.Sync())
	}
	if err = errors.Join(err, file.Close()); err != nil {
		return err
	}
	return os.Rename(file.Name(), path)
}

// IsEmpty says whether the section has nothing to show but its word for that.
func (s Section) IsEmpty() bool {
	return s.Empty != "" && len(s.Tiles)+len(s.Groups)+len(s.Figures)+len(s.Tables) == 0
}
