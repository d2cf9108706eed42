// Package strict holds the files for a cluster and for compose to the types and
// schemas of those who read them. It is a module of its own, so that the program's
// has none of what that needs.
package strict

import (
	"bytes"
	"os"
	"testing"

	"github.com/compose-spec/compose-go/v2/loader"
	"github.com/compose-spec/compose-go/v2/types"
	"github.com/stretchr/testify/require"
	apps "k8s.io/api/apps/v1"
	core "k8s.io/api/core/v1"
	networking "k8s.io/api/networking/v1"
	policy "k8s.io/api/policy/v1"
	"sigs.k8s.io/yaml"
)

// A key that a type does not have is an error, as a slip of the pen.
func TestKubernetes(t *testing.T) {
	data, err := os.ReadFile("../kubernetes.yaml")
	require.NoError(t, err)
	kinds := map[string]any{"Deployment": &apps.Deployment{}, "Service": &core.Service{},
		"PodDisruptionBudget": &policy.PodDisruptionBudget{}, "NetworkPolicy": &networking.NetworkPolicy{}}
	for _, document := range bytes.Split(data, []byte("\n---\n")) {
		var head struct{ Kind string }
		require.NoError(t, yaml.Unmarshal(document, &head))
		require.Contains(t, kinds, head.Kind)
		require.NoError(t, yaml.UnmarshalStrict(document, kinds[head.Kind]), head.Kind)
		delete(kinds, head.Kind)
	}
	require.Empty(t, kinds)
}

func TestCompose(t *testing.T) {
	for _, files := range [][]string{{"../compose.yaml"}, {"../compose.yaml", "../compose.secrets.yaml"}} {
		var config types.ConfigDetails
		config.WorkingDir = ".."
		for _, file := range files {
			config.ConfigFiles = append(config.ConfigFiles, types.ConfigFile{Filename: file})
		}
		_, err := loader.LoadWithContext(t.Context(), config, func(o *loader.Options) {
			o.SkipResolveEnvironment = true // .env is whoever's runs it
			o.SetProjectName("soundings", true)
		})
		require.NoError(t, err, files)
	}
}
