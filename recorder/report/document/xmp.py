"""The metadata of a document as XMP (ISO 16684-1), which claims PDF/A-3a and PDF/UA-1.

PDF/A wants every property to be predefined or described by an extension schema (ISO 19005-3,
6.6.2.3). That of PDF/UA is not predefined, so its schema stands in the packet too, with the words
of ISO 14289-1, 5.
"""

from __future__ import annotations

import re
from xml.sax.saxutils import escape

from recorder.report.document.about import About

# Characters that no XML 1.0 document can hold, escaped or not.
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

_PACKET = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about=""
  xmlns:dc="http://purl.org/dc/elements/1.1/"
  xmlns:xmp="http://ns.adobe.com/xap/1.0/"
  xmlns:pdf="http://ns.adobe.com/pdf/1.3/"
  xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/"
  xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/">
<pdfaid:part>3</pdfaid:part>
<pdfaid:conformance>A</pdfaid:conformance>
<pdfuaid:part>1</pdfuaid:part>
<dc:format>application/pdf</dc:format>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
<dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>
<dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
<dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>
<xmp:CreatorTool>{creator}</xmp:CreatorTool>
<xmp:CreateDate>{written_at}</xmp:CreateDate>
<xmp:ModifyDate>{written_at}</xmp:ModifyDate>
<xmp:MetadataDate>{written_at}</xmp:MetadataDate>
<pdf:Producer>{producer}</pdf:Producer>
</rdf:Description>
<rdf:Description rdf:about=""
  xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
  xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"
  xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
<pdfaSchema:schema>PDF/UA identification schema</pdfaSchema:schema>
<pdfaSchema:namespaceURI>http://www.aiim.org/pdfua/ns/id/</pdfaSchema:namespaceURI>
<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>
<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">
<pdfaProperty:name>part</pdfaProperty:name>
<pdfaProperty:valueType>Integer</pdfaProperty:valueType>
<pdfaProperty:category>internal</pdfaProperty:category>
<pdfaProperty:description>Part of ISO 14289 that it conforms to</pdfaProperty:description>
</rdf:li></rdf:Seq></pdfaSchema:property>
</rdf:li></rdf:Bag></pdfaExtension:schemas>
</rdf:Description>
</rdf:RDF>
</x:xmpmeta>
<?xpacket end="r"?>"""


def packet(about: About, producer: str) -> bytes:
    """producer: the engine that set the page, with version."""
    told = {
        "title": about.title,
        "author": about.author,
        "subject": about.subject,
        "language": about.language,
        "creator": about.creator,
        "producer": producer,
        "written_at": about.written_at.isoformat(timespec="seconds"),
    }
    return _PACKET.format_map({name: escape(text) for name, text in told.items()}).encode()


def plain(text: str) -> str:
    """The text with what XML cannot hold replaced, so that XMP can say what the document does."""
    return _NOT_XML.sub("\ufffd", text)
