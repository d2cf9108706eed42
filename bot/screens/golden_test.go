package screens

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/slack-go/slack"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"soundings/bot/plaintext"
	"soundings/bot/screens/screen"
)

var rewrite = flag.Bool("rewrite", false, "write what screens look like now as what is expected; read the diff as code")

// golden compares a drawing with testdata/screens/<name>.txt at the top of
// the tree.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("..", "..", "testdata", "screens", name+".txt")
	if *rewrite {
		require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
		require.NoError(t, os.WriteFile(path, []byte(got+"\n"), 0o644))
		return
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "read what %s should look like (go test -rewrite draws it)", name)
	assert.Equal(t, string(want), got+"\n", "%s looks different.\ngot:\n%s\nwant:\n%s", name, got, want)
}

// PlainText and PlainForm draw what the golden files hold.
func PlainText(p screen.Posting) string { return plaintext.Message(p.Text, p.Blocks) }

func PlainForm(view slack.ModalViewRequest) string {
	foot := "[" + view.Close.Text + "]"
	if view.Submit != nil {
		foot += " [" + view.Submit.Text + "]"
	}
	return plaintext.Blocks(append([]slack.Block{slack.NewHeaderBlock(view.Title)}, view.Blocks.BlockSet...)) + "\n\n" + foot
}

func plainBlock(b slack.Block) string { return plaintext.Blocks([]slack.Block{b}) }
