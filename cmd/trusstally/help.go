package main

import (
	"embed"
	"encoding/json"
	"fmt"
	"path"
	"slices"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"trusstally/ingest/problem"
)

// errorPages holds a page for each code word, CODE.txt. The test TestErrorPages writes them
// from what the failing fixtures print; nobody types them.
//
//go:embed help/errors/*.txt
var errorPages embed.FS

// errorPage is what help knows about one code word.
type errorPage struct {
	Code    string `json:"code"`
	Meaning string `json:"meaning"`
	Text    string `json:"text"` // the whole page, its first line "code: meaning"
}

// readErrorPages returns all pages in the order of their code words.
func readErrorPages() ([]errorPage, error) {
	const folder = "help/errors"
	entries, err := errorPages.ReadDir(folder)
	if err != nil {
		return nil, err
	}
	var pages []errorPage
	for _, entry := range entries {
		text, err := errorPages.ReadFile(path.Join(folder, entry.Name()))
		if err != nil {
			return nil, err
		}
		first, _, _ := strings.Cut(string(text), "\n")
		code, meaning, _ := strings.Cut(first, ": ")
		pages = append(pages, errorPage{Code: code, Meaning: meaning, Text: string(text)})
	}
	// By their words: of two file names that begin alike the longer may come first.
	slices.SortFunc(pages, func(a, b errorPage) int { return strings.Compare(a.Code, b.Code) })
	return pages, nil
}

func (p *program) helpCommand(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:   "help [COMMAND | errors [CODE]]",
		Short: "Explain a command, or the code word at the end of a message",
		Long: `Explains a command with its flags and examples. With errors it lists the code
words that messages end in, and with a code word it shows a real message and what
to do about it. It never opens a plant.`,
		Example: `  # What the weekly run reads and writes
  trusstally help run

  # All code words, one line each
  trusstally help errors

  # What to do about [bad-number]
  trusstally help errors bad-number`,
		ValidArgsFunction: func(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
			return helpWords(root, args), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(command *cobra.Command, args []string) error {
			switch {
			case len(args) == 0:
				return root.Help()
			case args[0] != "errors":
				return helpOnCommand(root, args)
			case len(args) == 1:
				return p.listErrorPages()
			case len(args) == 2:
				return p.printErrorPage(args[1])
			default:
				return usageError{fmt.Errorf("help errors takes one code word, not %d", len(args)-1)}
			}
		},
	}
}

// helpWords returns what may follow the words after help, for completion.
func helpWords(root *cobra.Command, args []string) []string {
	var words []string
	switch {
	case len(args) == 0:
		words = append(helpTopics(root), "help")
	case len(args) == 1 && args[0] == "errors":
		pages, err := readErrorPages()
		if err != nil {
			return nil
		}
		for _, page := range pages {
			words = append(words, page.Code)
		}
	}
	return words
}

// helpTopics are the commands that help explains, and errors.
func helpTopics(root *cobra.Command) []string {
	topics := []string{"errors"}
	for _, command := range root.Commands() {
		if command.IsAvailableCommand() {
			topics = append(topics, command.Name())
		}
	}
	return topics
}

func helpOnCommand(root *cobra.Command, args []string) error {
	command, rest, err := root.Find(args)
	if err == nil && len(rest) == 0 {
		return command.Help()
	}
	hint := "trusstally help lists the commands"
	if near := problem.Nearest(args[0], helpTopics(root)); near != "" && near != args[0] {
		hint = "did you mean " + near + "?"
	}
	return problem.List{{What: fmt.Sprintf("there is no help on that (%s)", strings.Join(args, " ")), Code: codeUnknownTopic, Usage: true, Hint: hint}}
}

func (p *program) listErrorPages() error {
	pages, err := readErrorPages()
	if err != nil {
		return err
	}
	if p.asJSON {
		return json.NewEncoder(p.stdout).Encode(pages)
	}
	table := tabwriter.NewWriter(p.stdout, 0, 0, 2, ' ', 0)
	for _, page := range pages {
		fmt.Fprintf(table, "%s\t%s\n", page.Code, page.Meaning)
	}
	return table.Flush()
}

// printErrorPage prints the page of a code word, which may stand in the brackets of the
// message that it was copied from.
func (p *program) printErrorPage(word string) error {
	pages, err := readErrorPages()
	if err != nil {
		return err
	}
	code := strings.Trim(word, "[]")
	codes := make([]string, len(pages))
	for i, page := range pages {
		if page.Code == code {
			if p.asJSON {
				return json.NewEncoder(p.stdout).Encode(page)
			}
			_, err := fmt.Fprint(p.stdout, page.Text)
			return err
		}
		codes[i] = page.Code
	}
	hint := "trusstally help errors lists them"
	if near := problem.Nearest(code, codes); near != "" {
		hint = "did you mean " + near + "?"
	}
	return problem.List{{What: fmt.Sprintf("there is no code word of that name (%s)", code), Code: codeUnknownCode, Usage: true, Hint: hint}}
}
