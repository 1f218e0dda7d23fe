"""What a person takes to the machine: a page to print, drawings and templates.

    >>> import jointgeo
    >>> from jointgeo.sheet import Book, page, sheet_of_joint
    >>> joint = jointgeo.joint_type("splayed_bridle").examples()[0]
    >>> book = Book()
    >>> text = page(sheet_of_joint(joint, jointgeo.load_fixture("porch")), book)
    >>> text.startswith("<!DOCTYPE html>"), "operation-1-facing" in book.pictures
    (True, True)

Everything is drawn from solved geometry, so a plug-in's joint draws with no code of its
own. From below: ``markup``, ``lettering``, ``style`` and ``plane`` know nothing; ``flow`` puts
pieces of known height on pages of paper; ``svg``, ``dimension`` and ``canvas`` make drawings;
``scene`` is a setup as solids; ``many_planes``, ``stretches``, ``wood``, ``outline`` and
``edge_drawing`` are a joint as solids and lines; ``facing``, ``side_view``, ``cut_end``,
``develop`` with ``layout_drawing`` and ``dxf``, ``envelope`` and ``fixture_envelopes`` on
``tilt_axes``, ``joint_drawing`` and ``parameter_picture`` (with ``parameter_views`` and
``parameter_drawing``) are the pictures;
``model``, ``gluing``, ``order``, ``cut_list`` and ``findings`` are what a sheet says; ``parts``,
``overview``, ``clamping_words``, ``cut_table``, ``operation_page``, ``joint_page`` and ``page`` are
the page, ``command`` its way in; ``compare_command`` draws what several fixtures can do.
Of a whole piece ``piece_model`` is what its sheet says, ``piece_views``, ``member_marks``,
``member_drawing`` and ``diagonals`` are its pictures and figures, ``piece_page`` its pages.
"""

from jointgeo.sheet.model import Sheet, sheet_of_job, sheet_of_joint
from jointgeo.sheet.page import document, page
from jointgeo.sheet.parameter_picture import parameter_picture
from jointgeo.sheet.parts import Book
from jointgeo.sheet.piece_model import PieceSheet, sheet_of_piece

__all__ = [
    "Book",
    "PieceSheet",
    "Sheet",
    "document",
    "page",
    "parameter_picture",
    "sheet_of_job",
    "sheet_of_joint",
    "sheet_of_piece",
]
