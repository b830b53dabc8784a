package main

import (
	"embed"
	"encoding/json"
	"fmt"
	"path"
	"slices"
	"strings"

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
		Use:   "help [COMMAND | TOPIC [NAME]]",
		Short: "Explain a command, the feeds, their rules, the settings, the sheets, or a message",
		Long: `Explains a command with its flags and examples, or a topic:

  errors [CODE]              code words that messages end in; a real message and what to do
  feeds [FEED [COLUMN]]      what a plant's files hold, and how each cell is written
  rules [FEED]               what makes a row refused, and what the checks prove
  policies [SECTION]         the settings of plant.toml, as new writes them
  reports [BOOK | SHEET]     what each sheet shows, column by column

It never opens a plant.`,
		Example: `  # What the weekly run reads and writes
  trusstally help run

  # What to do about [bad-number]
  trusstally help errors bad-number

  # How the times of a timecard are written
  trusstally help feeds timecards started_at

  # Which settings decide about pay
  trusstally help policies pay`,
		ValidArgsFunction: func(_ *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
			return begunWith(p.helpWords(root, args), begun), cobra.ShellCompDirectiveNoFileComp
		},
		RunE: func(command *cobra.Command, args []string) error {
			if len(args) == 0 {
				return root.Help()
			}
			for _, topic := range helpTopics {
				if args[0] != topic.name {
					continue
				}
				if len(args)-1 > topic.most {
					return usageError{fmt.Errorf("help %s takes %s, not %d", topic.name, topic.takes, len(args)-1)}
				}
				return topic.print(p, args[1:])
			}
			return helpOnCommand(root, args)
		},
	}
}

// helpWords returns what may follow the words after help, for completion.
func (p *program) helpWords(root *cobra.Command, args []string) []string {
	if len(args) == 0 {
		return append(helpNames(root), "help")
	}
	for _, topic := range helpTopics {
		if args[0] == topic.name {
			return topic.words(p, args[1:])
		}
	}
	return nil
}

// helpNames are the topics and commands that help explains.
func helpNames(root *cobra.Command) []string {
	var names []string
	for _, topic := range helpTopics {
		names = append(names, topic.name)
	}
	for _, command := range root.Commands() {
		if command.IsAvailableCommand() {
			names = append(names, command.Name())
		}
	}
	return names
}

func helpOnCommand(root *cobra.Command, args []string) error {
	command, rest, err := root.Find(args)
	if err == nil && len(rest) == 0 {
		return command.Help()
	}
	hint := "trusstally help lists the commands"
	if near := problem.Nearest(args[0], helpNames(root)); near != "" && near != args[0] {
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
	return printTable(p.stdout, func(row func(...string)) {
		for _, page := range pages {
			row(page.Code, page.Meaning)
		}
	})
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
