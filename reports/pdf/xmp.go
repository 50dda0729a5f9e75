package pdf

import (
	"bytes"
	"encoding/xml"
	"strings"
)

// uaSchema describes the property of PDF/UA, which PDF/A does not know (ISO 19005-3, 6.6.2.3.3).
const uaSchema = `<rdf:Description rdf:about="" xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"` +
	` xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#" xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA identification</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>the part of ISO 14289 that the file follows</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property>
</rdf:li></rdf:Bag></pdfaExtension:schemas>
</rdf:Description>
`

// xmpPacket returns the metadata as XMP (ISO 16684-1), saying what the document information says, property by property
// (ISO 19005-3, 6.6.3). It calls the file PDF/A-3A and PDF/UA-1: embedded faces whose characters are known, attachments
// that say how they are related, a tree of what the pages hold. archive_test.go lists the rules that files are checked
// against; an outside validator checks them by its own where there is one (notebooks/record_test.go).
func xmpPacket(m metadata) string {
	var b strings.Builder
	property := func(open, text, end string) { b.WriteString(open + xmlText(text) + end + "\n") }
	b.WriteString("<?xpacket begin=\"\uFEFF\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n" +
		"<x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\n<rdf:RDF " +
		"xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n" +
		"<rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" " +
		"xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" " +
		"xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" xmlns:pdfaid=\"http://www.aiim.org/pdfa/ns/id/\" " +
		"xmlns:pdfuaid=\"http://www.aiim.org/pdfua/ns/id/\">\n" +
		"<pdfaid:part>3</pdfaid:part>\n<pdfaid:conformance>A</pdfaid:conformance>\n" +
		"<pdfuaid:part>1</pdfuaid:part>\n" +
		"<dc:format>application/pdf</dc:format>\n")
	property("<dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">", m.title, "</rdf:li></rdf:Alt></dc:title>")
	if m.subject != "" {
		property("<dc:description><rdf:Alt><rdf:li xml:lang=\"x-default\">", m.subject,
			"</rdf:li></rdf:Alt></dc:description>")
	}
	property("<pdf:Producer>", m.program, "</pdf:Producer>")
	property("<xmp:CreatorTool>", m.program, "</xmp:CreatorTool>")
	if m.issued != "" {
		property("<xmp:CreateDate>", m.issued, "</xmp:CreateDate>")
	}
	b.WriteString("</rdf:Description>\n" + uaSchema + "</rdf:RDF>\n</x:xmpmeta>\n<?xpacket end=\"r\"?>")
	return b.String()
}

func xmlText(s string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(s)) // into memory, which does not fail
	return b.String()
}
