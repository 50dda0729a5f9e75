package pdf

import (
	"bytes"
	"encoding/xml"
	"strings"
)

// xmpPacket returns the metadata as XMP (ISO 16684-1), saying what the document information says. It makes
// no claim of PDF/A: the file is not tagged and no validator has seen it.
func xmpPacket(m metadata) string {
	var b strings.Builder
	b.WriteString("<?xpacket begin=\"\uFEFF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n" +
		"<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n<rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n" +
		"<rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\">\n" +
		"<dc:format>application/pdf</dc:format>\n")
	b.WriteString("<dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">" + xmlText(m.title) + "</rdf:li></rdf:Alt></dc:title>\n")
	b.WriteString("<dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">" + xmlText(m.subject) + "</rdf:li></rdf:Alt></dc:description>\n")
	b.WriteString("<pdf:Producer>" + xmlText(m.program) + "</pdf:Producer>\n<xmp:CreatorTool>" + xmlText(m.program) + "</xmp:CreatorTool>\n")
	b.WriteString("</rdf:Description>\n</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"r\"?>")
	return b.String()
}

func xmlText(s string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(s)) // into memory, which does not fail
	return b.String()
}
