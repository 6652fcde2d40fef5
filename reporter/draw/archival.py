"""What an archival, accessible file says about itself: metadata packet and the meaning of colour.

References
----------
ISO 19005-3:2012 (PDF/A-3), 6.2.3 (output intent) and 6.6 (metadata); ISO 14289-1:2014 (PDF/UA-1),
clause 5 (identification); ISO 16684-1 (XMP).
"""

from typing import Any
from xml.sax.saxutils import escape

from PIL import ImageCms
from reportlab.pdfbase.pdfdoc import XMP, PDFArray, PDFDictionary, PDFName, PDFStream, PDFString
from reportlab.pdfbase.pdfdoc import PDFZCompress as Deflate
from reportlab.pdfgen.canvas import Canvas

SRGB = "sRGB IEC61966-2.1"
PROFILE_DATE = slice(24, 36)
"""Where an ICC profile holds the moment it was made (ICC.1:2010, 7.2.8)."""
FIXED_DATE = bytes([7, 208, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0])

NAMESPACES = {
    "dc": "http://purl.org/dc/elements/1.1/",
    "pdf": "http://ns.adobe.com/pdf/1.3/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
    "pdfaid": "http://www.aiim.org/pdfa/ns/id/",
    "pdfuaid": "http://www.aiim.org/pdfua/ns/id/",
    "pdfaExtension": "http://www.aiim.org/pdfa/ns/extension/",
    "pdfaSchema": "http://www.aiim.org/pdfa/ns/schema#",
    "pdfaProperty": "http://www.aiim.org/pdfa/ns/property#",
}


def declare_archival(canvas: Canvas, language: str) -> None:
    """Write the metadata packet and the output intent into the file's catalogue."""
    document = canvas._doc
    catalog = document.Catalog
    profile = document.Reference(
        PDFStream(PDFDictionary({"N": 3}), _srgb_profile(), filters=[Deflate])
    )
    catalog.OutputIntents = PDFArray(
        [
            PDFDictionary(
                {
                    "Type": PDFName("OutputIntent"),
                    "S": PDFName("GTS_PDFA1"),
                    "OutputConditionIdentifier": PDFString(SRGB),
                    "Info": PDFString(SRGB),
                    "DestOutputProfile": profile,
                }
            )
        ]
    )
    year, *rest = document._timeStamp.YMDhms
    moment = "{:04d}-{:02d}-{:02d}T{:02d}:{:02d}:{:02d}+00:00".format(year, *rest)
    catalog.Metadata = XMP(creator=lambda written: _packet(written.info, moment, language))


def _srgb_profile() -> bytes:
    """Return an sRGB profile whose bytes do not depend on the moment it is made."""
    made = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return bytes(made[: PROFILE_DATE.start] + FIXED_DATE + made[PROFILE_DATE.stop :])


def _packet(info: Any, moment: str, language: str) -> bytes:  # noqa: ANN401 - writer's type
    """Return the metadata packet; its values equal those of the document information."""
    names = " ".join(f'xmlns:{prefix}="{address}"' for prefix, address in NAMESPACES.items())
    alternative = '<rdf:Alt><rdf:li xml:lang="x-default">{}</rdf:li></rdf:Alt>'
    fields = [
        "<dc:format>application/pdf</dc:format>",
        f"<dc:title>{alternative.format(escape(info.title))}</dc:title>",
        f"<dc:creator><rdf:Seq><rdf:li>{escape(info.author)}</rdf:li></rdf:Seq></dc:creator>",
        f"<dc:description>{alternative.format(escape(info.subject))}</dc:description>",
        f"<dc:language><rdf:Bag><rdf:li>{escape(language)}</rdf:li></rdf:Bag></dc:language>",
        f"<pdf:Producer>{escape(info.producer)}</pdf:Producer>",
        f"<pdf:Keywords>{escape(info.keywords)}</pdf:Keywords>",
        f"<xmp:CreatorTool>{escape(info.creator)}</xmp:CreatorTool>",
        f"<xmp:CreateDate>{moment}</xmp:CreateDate>",
        f"<xmp:ModifyDate>{moment}</xmp:ModifyDate>",
        "<pdfaid:part>3</pdfaid:part><pdfaid:conformance>A</pdfaid:conformance>",
        "<pdfuaid:part>1</pdfuaid:part>",
        # PDF/A knows no property of PDF/UA, so its schema is declared beside it.
        '<pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">'
        "<pdfaSchema:schema>PDF/UA identification</pdfaSchema:schema>"
        f"<pdfaSchema:namespaceURI>{NAMESPACES['pdfuaid']}</pdfaSchema:namespaceURI>"
        "<pdfaSchema:prefix>pdfuaid</pdfaSchema:prefix>"
        '<pdfaSchema:property><rdf:Seq><rdf:li rdf:parseType="Resource">'
        "<pdfaProperty:name>part</pdfaProperty:name>"
        "<pdfaProperty:valueType>Integer</pdfaProperty:valueType>"
        "<pdfaProperty:category>internal</pdfaProperty:category>"
        "<pdfaProperty:description>part of ISO 14289</pdfaProperty:description>"
        "</rdf:li></rdf:Seq></pdfaSchema:property></rdf:li></rdf:Bag></pdfaExtension:schemas>",
    ]
    packet = (
        '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>'
        '<x:xmpmeta xmlns:x="adobe:ns:meta/">'
        '<rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        f'<rdf:Description rdf:about="" {names}>{"".join(fields)}</rdf:Description>'
        '</rdf:RDF></x:xmpmeta><?xpacket end="w"?>'
    )
    return packet.encode()
