package scenario

import _ "embed"

//go:embed ferry.yaml
var ferry []byte

// Ferry is the built-in scenario: a copy of testdata/scenarios/ferry.yaml.
func Ferry() (*Scenario, error) { return Parse("ferry.yaml", ferry) }
