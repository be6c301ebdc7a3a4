"""How the pages of this folder become a site: `sphinx-build docs build/docs`."""

from docutils.nodes import SkipNode, math, math_block
from docutils.utils.math.latex2mathml import tex2mathml
from sphinx.application import Sphinx
from sphinx.writers.html5 import HTML5Translator

project = "backreef"
author = "backreef contributors"
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
html_theme = "furo"
html_title = "backreef"
html_show_sourcelink = False
html_copy_source = False
html_static_path = ["site.css"]
html_css_files = ["site.css"]
html_math_renderer = "mathml"
autodoc_typehints = "signature"
autodoc_preserve_defaults = True
python_use_unqualified_type_names = True
myst_heading_anchors = 4
myst_fence_as_directive = ["math"]


def setup(app: Sphinx) -> None:
    """Set mathematics as MathML, which browsers show by themselves: no script, and no other host."""
    app.add_html_math_renderer("mathml", (_inline, None), (_block, None))


def _inline(translator: HTML5Translator, node: math) -> None:
    translator.body.append(tex2mathml(node.astext(), as_block=False))
    raise SkipNode


def _block(translator: HTML5Translator, node: math_block) -> None:
    translator.body.append(f'<div class="equation">{tex2mathml(node.astext(), as_block=True)}</div>\n')
    raise SkipNode
