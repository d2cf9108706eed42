package page

import (
	"bytes"
	"html/template"

	"github.com/yuin/goldmark"
	"github.com/yuin/goldmark/ast"
	"github.com/yuin/goldmark/parser"
	"github.com/yuin/goldmark/renderer/html"
	"github.com/yuin/goldmark/text"
	"github.com/yuin/goldmark/util"
)

// markdown draws the Markdown of a canvas as far as ours use it: headings,
// lists, quotes, rules, paragraphs and what is emphasized. Links, pictures and
// HTML stay text: a canvas is for reading here.
var markdown = goldmark.New(
	goldmark.WithParser(parser.NewParser(
		parser.WithBlockParsers(
			util.Prioritized(parser.NewThematicBreakParser(), 200),
			util.Prioritized(parser.NewListParser(), 300),
			util.Prioritized(parser.NewListItemParser(), 400),
			util.Prioritized(parser.NewATXHeadingParser(), 600),
			util.Prioritized(parser.NewBlockquoteParser(), 800),
			util.Prioritized(parser.NewParagraphParser(), 1000),
		),
		parser.WithInlineParsers(util.Prioritized(parser.NewEmphasisParser(), 500)),
		parser.WithASTTransformers(util.Prioritized(lowerHeadings{}, 100)),
	)),
	goldmark.WithRendererOptions(html.WithHardWraps()),
)

// lowerHeadings moves every heading a level down: the title of the canvas
// stands above them as the first.
type lowerHeadings struct{}

func (lowerHeadings) Transform(doc *ast.Document, _ text.Reader, _ parser.Context) {
	for n := doc.FirstChild(); n != nil; n = n.NextSibling() {
		if h, ok := n.(*ast.Heading); ok {
			h.Level = min(h.Level+1, 6)
		}
	}
}

func drawMarkdown(s string) template.HTML {
	var out bytes.Buffer
	if err := markdown.Convert([]byte(s), &out); err != nil {
		return escaped(s) // a buffer takes everything, so this is never reached
	}
	return template.HTML(out.String())
}
