package plant

import "fmt"

// Run is what the weekly run does beside its work.
type Run struct {
	OnFailure []string // program and arguments to call when a run does not end with 0; none when empty
}

type runSection struct {
	OnFailure any `toml:"on_failure"`
}

// run reads the command as a list of words: a line for a shell would mean another thing on
// another machine, and a name with a blank or a quote in it would come apart.
func (r *reader) run(section runSection) Run {
	const hint = `write the program and each argument in quotes of their own: on_failure = ["C:\\plant\\tell-office.cmd", "mill"]`
	if section.OnFailure == nil {
		return Run{}
	}
	list, ok := section.OnFailure.([]any)
	if !ok {
		r.fail(CodeBadSetting, "run", "on_failure", fmt.Sprintf("not a list of a program and its arguments (%v)", section.OnFailure), hint)
		return Run{}
	}
	var words []string
	for _, item := range list {
		word, ok := item.(string)
		if !ok {
			r.fail(CodeBadSetting, "run", "on_failure", fmt.Sprintf("not a text in quotes (%v)", item), hint)
			return Run{}
		}
		words = append(words, word)
	}
	if len(words) > 0 && words[0] == "" {
		r.fail(CodeBadSetting, "run", "on_failure", "the command has no program", hint)
		return Run{}
	}
	return Run{OnFailure: words}
}
