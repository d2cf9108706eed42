package modeltest_test

import (
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"soundings/prompts/modeltest"
)

// A server says what it was told, and keeps what it was asked.
func TestServerKeepsWhatItWasAsked(t *testing.T) {
	model := modeltest.New(modeltest.Says("hello"))
	server := httptest.NewServer(model)
	defer server.Close()
	resp, err := http.Post(server.URL+"/v1/chat/completions", "application/json", strings.NewReader(`{"model":"any","messages":[]}`))
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	var said struct {
		Choices []struct{ Message struct{ Content string } }
	}
	if err := json.Unmarshal(body, &said); err != nil || said.Choices[0].Message.Content != "hello" {
		t.Errorf("got %s, %v", body, err)
	}
	if asked := model.Requests(); len(asked) != 1 || asked[0].Body.Model != "any" {
		t.Errorf("got %+v", asked)
	}
}
