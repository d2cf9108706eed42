// Package deploy_test holds the files for running the bot to what they say,
// as far as that can be seen without a container engine or a cluster.
package deploy_test

import (
	"bytes"
	"debug/buildinfo"
	"debug/elf"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.yaml.in/yaml/v3"
)

func read(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(data)
}

// instructions lists what follows a word at the beginning of the Dockerfile's
// lines.
func instructions(t *testing.T, word string) []string {
	t.Helper()
	var found []string
	for line := range strings.Lines(read(t, "Dockerfile")) {
		if rest, ok := strings.CutPrefix(line, word+" "); ok {
			found = append(found, strings.TrimSpace(rest))
		}
	}
	require.NotEmpty(t, found, "the Dockerfile has no %s", word)
	return found
}

// build runs the build command of the Dockerfile as it stands, but for the
// place of the program.
func build(t *testing.T) (program string) {
	t.Helper()
	at := slices.IndexFunc(instructions(t, "RUN"), func(s string) bool { return strings.Contains(s, "go build") })
	require.GreaterOrEqual(t, at, 0, "the Dockerfile builds nothing")
	command := instructions(t, "RUN")[at]
	program = filepath.Join(t.TempDir(), "soundings")
	require.Contains(t, command, " -o /soundings ", "the build command writes elsewhere")
	cmd := exec.CommandContext(t.Context(), "sh", "-c", strings.Replace(command, " -o /soundings ", " -o "+program+" ", 1))
	cmd.Dir, cmd.Env = "..", append(os.Environ(), "VERSION=9.8.7", "REVISION=0123abc")
	out, err := cmd.CombinedOutput()
	require.NoError(t, err, "%s: %v\n%s", command, err, out)
	return program
}

// The program is built exactly as the Dockerfile says, is static, and runs
// with nothing around it, as it will in an image that holds nothing else.
func TestProgramOfTheImage(t *testing.T) {
	if testing.Short() {
		t.Skip("it builds the whole program")
	}
	program := build(t)
	t.Run("it is static", func(t *testing.T) { mustBeStatic(t, program) })
	t.Run("it knows which release it is", func(t *testing.T) {
		assert.Contains(t, output(t, program, nil, 0, "version"), "soundings 9.8.7\n")
	})
	t.Run("every licence in it can be read", func(t *testing.T) { mustNameLicences(t, program) })
	t.Run("it knows the manifest", func(t *testing.T) {
		assert.Equal(t, read(t, "manifest-socket.json"), output(t, program, nil, 0, "manifest"), "it prints another manifest")
	})
	t.Run("it knows the time zones by itself", func(t *testing.T) {
		got := output(t, program, []string{"ZONEINFO=/nowhere"}, 0, "window", "--from", "2027-03-01T09:00:00Z", "--hours", "1", "--zone", "Pacific/Auckland")
		assert.Contains(t, got, "Pacific/Auckland")
	})
	t.Run("it starts as the image starts it, and names the settings that are missing", func(t *testing.T) {
		got := output(t, program, nil, 2, list(t, "CMD")...)
		assert.Contains(t, got, "SLACK_BOT_TOKEN is missing")
	})
	t.Run("it scores the ratings of a large group", func(t *testing.T) { mustScoreMany(t, program) })
	t.Run("the health check is a command of its own", func(t *testing.T) {
		_, command, _ := strings.Cut(instructions(t, "HEALTHCHECK")[0], "CMD ")
		args := parseList(t, command)
		assert.Equal(t, list(t, "ENTRYPOINT")[0], args[0], "it checks with")
		got := output(t, program, []string{"SOUNDINGS_LISTEN=127.0.0.1:1"}, 1, args[1:]...)
		assert.True(t, strings.HasPrefix(got, "no bot answers"), "got %q", got)
	})
}

// mustNameLicences holds the third-party notices to what the linker put in.
func mustNameLicences(t *testing.T, program string) {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), "sh", "deploy/notices.sh")
	cmd.Dir = ".."
	notices, err := cmd.Output()
	require.NoError(t, err)
	info, err := buildinfo.ReadFile(program)
	require.NoError(t, err)
	require.NotEmpty(t, info.Deps)
	for _, module := range info.Deps {
		assert.Contains(t, string(notices), "\n======== "+module.Path+" "+module.Version+", ")
	}
	for _, text := range []string{"Creative Commons Attribution 4.0", "SIL OPEN FONT LICENSE", "The Go Authors", "github.com/inconshreveable/mousetrap"} {
		assert.Contains(t, string(notices), text)
	}
}

// mustScoreMany has the program score many ratings. It takes seconds; under the
// race detector it would take half a minute.
func mustScoreMany(t *testing.T, program string) {
	t.Helper()
	const raters, assumptions = 500, 1000
	var table strings.Builder
	table.WriteString("rater,assumption,importance,evidence\n")
	for r := range raters {
		for a := range assumptions {
			fmt.Fprintf(&table, "R%d,A%d,%d,%d\n", r, a, 1+(r*7+a*3+r*a)%9, 1+(r*5+a)%9)
		}
	}
	cmd := exec.CommandContext(t.Context(), program, "score", "--json", "-")
	cmd.Stdin = strings.NewReader(table.String())
	out, err := cmd.Output()
	require.NoError(t, err)
	var result struct {
		Raters int
		Order  []string
	}
	require.NoError(t, json.Unmarshal(out, &result))
	assert.Equal(t, raters, result.Raters, "raters")
	assert.Len(t, result.Order, assumptions, "assumptions in order")
}

func mustBeStatic(t *testing.T, program string) {
	t.Helper()
	if runtime.GOOS != "linux" {
		t.Skip("only Linux programs are looked into")
	}
	f, err := elf.Open(program)
	require.NoError(t, err)
	defer f.Close()
	for _, p := range f.Progs {
		assert.NotEqual(t, elf.PT_INTERP, p.Type, "it needs a loader (%v), and there is none in the image", p.Type)
		assert.NotEqual(t, elf.PT_DYNAMIC, p.Type, "it needs a loader (%v), and there is none in the image", p.Type)
	}
}

// output runs the program with nothing in its environment but environ, and
// returns what it prints.
func output(t *testing.T, program string, environ []string, code int, args ...string) string {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), program, args...)
	cmd.Env, cmd.Dir = append([]string{}, environ...), t.TempDir()
	out, err := cmd.CombinedOutput()
	exit := (*exec.ExitError)(nil)
	require.False(t, err != nil && !errors.As(err, &exit), err)
	got := cmd.ProcessState.ExitCode()
	assert.Equal(t, code, got, "%v: exit %d, want %d:\n%s", args, got, code, out)
	return string(out)
}

// list reads the last instruction of a kind, in the form ["a", "b"].
func list(t *testing.T, word string) []string {
	t.Helper()
	all := instructions(t, word)
	return parseList(t, all[len(all)-1])
}

func parseList(t *testing.T, text string) []string {
	t.Helper()
	var words []string
	require.NoError(t, yaml.Unmarshal([]byte(text), &words), "%s is no list", text)
	require.NotEmpty(t, words, "%s is no list", text)
	return words
}

// A node is a part of a YAML document, by path: keys and numbers.
type node struct{ of any }

func (n node) at(path ...any) node {
	for _, step := range path {
		switch step := step.(type) {
		case string:
			m, _ := n.of.(map[string]any)
			n = node{m[step]}
		case int:
			l, _ := n.of.([]any)
			if step >= len(l) {
				return node{}
			}
			n = node{l[step]}
		}
	}
	return n
}

func (n node) must(t *testing.T, want any, path ...any) {
	t.Helper()
	got := n.at(path...).of
	assert.Equal(t, fmt.Sprint(want), fmt.Sprint(got), "%v is %v, want %v", path, got, want)
}

// documents reads every document of a YAML file. A key that stands twice is
// an error of the parser.
func documents(t *testing.T, path string) []node {
	t.Helper()
	var all []node
	d := yaml.NewDecoder(strings.NewReader(read(t, path)))
	for {
		var v any
		err := d.Decode(&v)
		if errors.Is(err, io.EOF) {
			return all
		}
		require.NoError(t, err, path)
		all = append(all, node{v})
	}
}

func TestCompose(t *testing.T) {
	c := documents(t, "compose.yaml")[0]
	c.must(t, "deploy/Dockerfile", "services", "soundings", "build", "dockerfile")
	c.must(t, true, "services", "soundings", "read_only")
	c.must(t, "[ALL]", "services", "soundings", "cap_drop")
	c.must(t, "service_healthy", "services", "soundings", "depends_on", "redis", "condition")
	c.must(t, "[127.0.0.1:8080:8080]", "services", "soundings", "ports")
	redis := fmt.Sprint(c.at("services", "redis", "command").of)
	for _, want := range []string{"--appendonly yes", "--appendfsync always", "--maxmemory-policy noeviction"} {
		assert.Contains(t, redis, want, "Redis runs with")
	}
	assert.Nil(t, c.at("services", "redis", "ports").of, "Redis stands open to others")
	assert.Contains(t, fmt.Sprint(c.at("services", "redis", "healthcheck", "test").of), "redis-cli set", "a full disk shows in a write alone")
	c.must(t, "[CMD /soundings check --ready]", "services", "soundings", "healthcheck", "test")
	files := documents(t, "compose.secrets.yaml")[0]
	for _, name := range []string{"SLACK_BOT_TOKEN", "SLACK_APP_TOKEN"} {
		files.must(t, "/run/secrets/"+strings.ToLower(name), "services", "soundings", "environment", name+"_FILE")
		files.must(t, "", "services", "soundings", "environment", name)
	}
}

func TestKubernetes(t *testing.T) {
	all := documents(t, "kubernetes.yaml")
	var kinds []string
	for _, d := range all {
		kinds = append(kinds, fmt.Sprint(d.at("kind").of))
		d.must(t, "soundings", "metadata", "name")
	}
	require.Equal(t, []string{"Deployment", "Service", "PodDisruptionBudget", "NetworkPolicy"}, kinds, "kinds")
	deployment := all[0]
	deployment.must(t, 2, "spec", "replicas")
	pod := deployment.at("spec", "template", "spec")
	pod.must(t, false, "automountServiceAccountToken")
	pod.must(t, true, "securityContext", "runAsNonRoot")
	container := pod.at("containers", 0)
	pod.must(t, "soundings", "volumes", 0, "secret", "secretName")
	container.must(t, pod.at("volumes", 0, "name").of, "volumeMounts", 0, "name")
	variables, _ := container.at("env").of.([]any)
	for _, v := range variables {
		name, value := fmt.Sprint(node{v}.at("name").of), fmt.Sprint(node{v}.at("value").of)
		if setting, isFile := strings.CutSuffix(name, "_FILE"); isFile {
			assert.Equal(t, fmt.Sprint(container.at("volumeMounts", 0, "mountPath").of)+"/"+setting, value)
		}
	}
	version := fmt.Sprint(deployment.at("metadata", "labels", "app.kubernetes.io/version").of)
	container.must(t, "soundings:"+version, "image")
	documents(t, "compose.yaml")[0].must(t, "soundings:"+version, "services", "soundings", "image")
	assert.Contains(t, read(t, "CHANGELOG.md"), "\n## "+version+"\n")
	container.must(t, "/healthz", "livenessProbe", "httpGet", "path")
	container.must(t, "/readyz", "readinessProbe", "httpGet", "path")
	container.must(t, true, "securityContext", "readOnlyRootFilesystem")
	container.must(t, false, "securityContext", "allowPrivilegeEscalation")
	container.must(t, "[ALL]", "securityContext", "capabilities", "drop")
	all[1].must(t, container.at("ports", 0, "name").of, "spec", "ports", 0, "targetPort")
	for _, d := range all {
		labels := deployment.at("spec", "template", "metadata", "labels").of
		selector := d.at("spec", "selector")
		if d.at("kind").of == "NetworkPolicy" {
			selector = d.at("spec", "podSelector")
		}
		if m := selector.at("matchLabels"); m.of != nil {
			selector = m
		}
		assert.Equal(t, fmt.Sprint(labels), fmt.Sprint(selector.of), "%v selects %v, and the pods are %v", d.at("kind").of, selector.of, labels)
	}
}

// The user of the image is the one that the cluster runs it as.
func TestNobodyIsRoot(t *testing.T) {
	user := instructions(t, "USER")[0]
	pod := documents(t, "kubernetes.yaml")[0].at("spec", "template", "spec", "securityContext")
	assert.Equal(t, fmt.Sprintf("%v:%v", pod.at("runAsUser").of, pod.at("runAsGroup").of), user, "the image runs as %s, the cluster as", user)
	assert.False(t, strings.HasPrefix(user, "0"), "the image runs as %s, the cluster as", user)
	assert.Contains(t, read(t, "soundings.service"), "\nDynamicUser=yes\n", "the service runs as root")
}

// systemd itself reads the unit, where it is there. The program is made up:
// systemd looks whether it is there and can be run.
func TestUnit(t *testing.T) {
	if _, err := exec.LookPath("systemd-analyze"); err != nil {
		t.Skip("no systemd-analyze on the path")
	}
	dir := t.TempDir()
	program, unit := filepath.Join(dir, "soundings"), filepath.Join(dir, "soundings.service")
	text := read(t, "soundings.service")
	changed := strings.Replace(text, "ExecStart=/usr/local/bin/soundings ", "ExecStart="+program+" ", 1)
	require.NotEqual(t, text, changed, "the unit starts another program")
	for path, data := range map[string]string{program: "#!/bin/sh\n", unit: changed} {
		require.NoError(t, os.WriteFile(path, []byte(data), 0o755))
	}
	require.NoError(t, os.Chmod(unit, 0o644))
	cmd := exec.CommandContext(t.Context(), "systemd-analyze", "verify", unit)
	var complaints bytes.Buffer
	cmd.Stdout, cmd.Stderr = &complaints, &complaints
	err := cmd.Run()
	assert.NoError(t, err, "systemd says (%v): %s", err, complaints.String())
	assert.LessOrEqual(t, complaints.Len(), 0, "systemd says (%v): %s", err, complaints.String())
}

// Nothing here is a secret that somebody forgot.
func TestNoSecrets(t *testing.T) {
	token := regexp.MustCompile(`xox[a-z]-\d|xapp-\d|[0-9a-f]{32}`)
	for _, pattern := range []string{"*.yaml", "*.json", "*.example", "*.md", "Dockerfile*", "*.service"} {
		paths, err := filepath.Glob(pattern)
		require.NoError(t, err, "%s: found %d files, err", pattern, len(paths))
		require.NotEmpty(t, paths, "%s: found %d files, err", pattern, len(paths))
		for _, path := range paths {
			assert.Equal(t, "", token.FindString(read(t, path)), "%s holds what looks like a secret", path)
		}
	}
}
