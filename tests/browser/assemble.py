#!/usr/bin/python3
"""Puts the compiled module, the worker and the page into one HTML file.    assemble.py SRC COMPILED_FOLDER VERSION OUT"""
import base64
import json
import pathlib
import sys

source, compiled, version, out = pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]), sys.argv[3], pathlib.Path(sys.argv[4])
web = source / "browser" / "web"


def in_script(text):
    """No text may end the script element."""
    return json.dumps(text).replace("</", "<\\/").replace("<!--", "<\\!--")


module = base64.b64encode((compiled / "hearwood.wasm").read_bytes()).decode()
worker = (compiled / "hearwood.js").read_text() + "\n" + (web / "worker.js").read_text()
script = f"const COMPILED = {in_script(module)};\nconst WORKER = {in_script(worker)};\n{(web / 'measure.js').read_text()}"
style = (source / "words" / "paper.css").read_text() + (web / "measure.css").read_text()
page = (web / "measure.html").read_text()
for name, text in (("version", version), ("style", style), ("script", script)):
    assert page.count("{{" + name + "}}") == 1, name
    page = page.replace("{{" + name + "}}", text, 1)
out.write_text(page)
