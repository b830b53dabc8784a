package main

import (
	"encoding/xml"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
)

// schedules is the folder of examples for a plant that runs unattended.
const schedules = "../../fixtures/schedule"

// TestSchedules: what each example calls is a command that the program takes, on a Monday.
func TestSchedules(t *testing.T) {
	t.Run("cron", func(t *testing.T) {
		// minute, hour, day of month, month, day of week, command; crontab(5).
		line := regexp.MustCompile(`^(\*|[0-5]?[0-9]) (\*|1?[0-9]|2[0-3]) (\*|[12]?[0-9]|3[01]) (\*|[0-9]|1[0-2]) (\*|[0-7]) (.+)$`)
		commands := 0
		for _, text := range strings.Split(strings.TrimSpace(readText(t, schedules, "trusstally.cron")), "\n") {
			if strings.HasPrefix(text, "#") || regexp.MustCompile(`^[A-Z]+=`).MatchString(text) {
				continue
			}
			found := line.FindStringSubmatch(text)
			if found == nil {
				t.Errorf("not a line of crontab(5): %s", text)
				continue
			}
			if strings.Contains(strings.ReplaceAll(found[6], `\%`, ""), "%") {
				t.Errorf("a bare %% ends the command of a crontab: %s", text)
			}
			command, _, _ := strings.Cut(found[6], " >")
			accepted(t, lineWords(command))
			commands++
		}
		if commands != 2 {
			t.Errorf("%d commands, want 2", commands)
		}
	})
	t.Run("systemd", func(t *testing.T) {
		service, timer := unit(t, "trusstally.service"), unit(t, "trusstally.timer")
		accepted(t, lineWords(service["Service ExecStart"]))
		if service["Service Type"] != "oneshot" || timer["Install WantedBy"] != "timers.target" || !strings.HasPrefix(timer["Timer OnCalendar"], "Mon ") {
			t.Errorf("service %v, timer %v", service, timer)
		}
		verifyUnits(t)
	})
	t.Run("task", func(t *testing.T) {
		var task struct {
			XMLName  xml.Name `xml:"http://schemas.microsoft.com/windows/2004/02/mit/task Task"`
			Triggers struct {
				Calendar []struct {
					StartBoundary  string
					ScheduleByWeek struct {
						DaysOfWeek struct {
							Day []xml.Name `xml:",any"`
						}
						WeeksInterval int
					}
				} `xml:"CalendarTrigger"`
			}
			Settings struct{ MultipleInstancesPolicy, ExecutionTimeLimit string }
			Actions  struct {
				Exec struct{ Command, Arguments, WorkingDirectory string }
			}
		}
		if err := xml.Unmarshal([]byte(readText(t, schedules, "trusstally-task.xml")), &task); err != nil {
			t.Fatal(err)
		}
		if len(task.Triggers.Calendar) != 1 {
			t.Fatalf("%d triggers", len(task.Triggers.Calendar))
		}
		trigger := task.Triggers.Calendar[0]
		start, err := time.Parse("2006-01-02T15:04:05", trigger.StartBoundary)
		if err != nil || start.Weekday() != time.Monday || trigger.ScheduleByWeek.WeeksInterval != 1 || task.Settings.MultipleInstancesPolicy != "IgnoreNew" {
			t.Errorf("trigger %+v, settings %+v (%v)", trigger, task.Settings, err)
		}
		accepted(t, append([]string{task.Actions.Exec.Command}, lineWords(task.Actions.Exec.Arguments)...))
	})
}

// verifyUnits has systemd itself read the units, where it is installed. It looks for the
// program, so that its copy of the service calls one that every machine has.
func verifyUnits(t *testing.T) {
	t.Helper()
	verifier, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Log("systemd-analyze is not here: the units were read by this test alone")
		return
	}
	folder := t.TempDir()
	for _, name := range []string{"trusstally.service", "trusstally.timer"} {
		text := strings.Replace(readText(t, schedules, name), "/opt/trusstally/trusstally", "/bin/true", 1)
		if err := os.WriteFile(filepath.Join(folder, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	out, err := exec.Command(verifier, "verify", "--man=no", filepath.Join(folder, "trusstally.timer"), filepath.Join(folder, "trusstally.service")).CombinedOutput()
	if err != nil || len(out) > 0 {
		t.Errorf("%v\n%s", err, out)
	}
}

// accepted holds a command line against the program's own commands and flags, without running
// it: the program, its command, and what follows.
func accepted(t *testing.T, line []string) {
	t.Helper()
	if len(line) < 2 {
		t.Errorf("no command: %q", line)
		return
	}
	if name := line[0][strings.LastIndexAny(line[0], `/\`)+1:]; strings.TrimSuffix(name, ".exe") != programName {
		t.Errorf("%s is not the program", line[0])
	}
	command, rest, err := (&program{}).rootCommand().Find(line[1:])
	if err == nil {
		err = command.ParseFlags(rest)
	}
	if err == nil {
		err = command.ValidateArgs(command.Flags().Args())
	}
	if err != nil || command.Name() != line[1] {
		t.Errorf("%q: %v", line, err)
	}
}

// lineWords parts a command line at blanks outside of double quotes.
func lineWords(line string) []string {
	var list []string
	for _, word := range regexp.MustCompile(`"[^"]*"|\S+`).FindAllString(line, -1) {
		list = append(list, strings.Trim(word, `"`))
	}
	return list
}

// unit reads a unit file: section and key = value.
func unit(t *testing.T, name string) map[string]string {
	t.Helper()
	settings, section := map[string]string{}, ""
	for _, line := range strings.Split(strings.TrimSpace(readText(t, filepath.Join(schedules, name))), "\n") {
		if strings.HasPrefix(line, "[") && strings.HasSuffix(line, "]") {
			section = strings.Trim(line, "[]")
			continue
		}
		key, value, found := strings.Cut(line, "=")
		if line != "" && (!found || section == "") {
			t.Errorf("%s: not a setting: %s", name, line)
		}
		settings[section+" "+key] = value
	}
	return settings
}
