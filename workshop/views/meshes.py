"""A foot's mesh: read, shown with its unit and pose, confirmed, then kept with the measures."""

import base64
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from patterns.errors import FootError
from workshop.forms.meshes import MeshForm, seen_text
from workshop.mesh_files import mesh_content, mesh_keep
from workshop.models import Doll, FootVersion
from workshop.uploads import (
    UploadError,
    held,
    hold,
    let_go,
    mesh_bytes,
    not_held_text,
    read_bytes,
    upload_given,
)

FILE, CONFIRMED = "mesh file", "mesh"


def foot_mesh(request: HttpRequest, doll_id: int) -> HttpResponse:
    """Ask for a mesh, show how it was understood, and take it once that is confirmed."""
    doll = get_object_or_404(Doll, pk=doll_id)
    context: dict[str, Any] = {"doll": doll, "form": MeshForm(), "query": request.GET.urlencode()}
    if request.method != "POST":
        return render(request, "feet/mesh.html", context)
    form = MeshForm(request.POST)
    try:
        token, file, settled = _given(request, form)
        confirmed = "confirm" in request.POST and form.is_as_seen() and any(settled.values())
        seen = read_bytes(
            base64.b64decode(file["data"]),
            "mesh",
            {
                **settled,
                "name": file["name"],
                "keep": confirmed,
                "title": _("The mesh from the side and from above, on squares of 10 mm"),
            },
        )
    except UploadError as error:
        return render(request, "feet/mesh.html", {**context, "faults": error.messages})
    if confirmed and not seen["problems"]:
        let_go(token)
        return _measure_on(request, doll, _confirmed(request, file["name"], seen))
    settled = {name: seen[name] for name in ("unit", "toes", "up")}
    shown = MeshForm(initial={"token": token, **settled, "seen": seen_text(settled)})
    changed = "confirm" in request.POST and not confirmed
    context |= {"form": shown, "seen": seen, "file_name": file["name"], "changed": changed}
    return render(request, "feet/mesh.html", context)


def _given(request: HttpRequest, form: MeshForm) -> tuple[str, dict[str, str], dict[str, str]]:
    """Return the token, the file and what was settled; a new file is understood afresh."""
    if not form.is_valid():
        raise UploadError([said for errors in form.errors.values() for said in errors])
    upload = upload_given(request, "mesh_file")
    if upload is not None:
        data = base64.b64encode(mesh_bytes(upload)).decode("ascii")
        file = {"name": (upload.name or "")[-80:], "data": data}
        token = hold(file, purpose=FILE, user_id=request.user.pk)
        return token, file, dict.fromkeys(("unit", "toes", "up"), "")
    token = form.cleaned_data["token"]
    if not token:
        raise UploadError([_("Choose the file of the mesh first.")])
    file = held(token, purpose=FILE, user_id=request.user.pk)
    if file is None:
        raise UploadError([not_held_text()])
    return token, file, form.settled()


def _confirmed(request: HttpRequest, file_name: str, seen: dict[str, Any]) -> str:
    """Keep the mesh's file and return the token of what goes with the measures."""
    mesh = {
        "sha256": mesh_keep(seen["obj"].encode("ascii")),
        "file_name": file_name,
        **{name: seen[name] for name in ("unit", "toes", "up", "triangles")},
        **{name: round(seen[name], 3) for name in ("foot_length_mm", "top_mm")},
    }
    value = {
        "mesh": mesh,
        "measures": seen["measures"],
        "foot_side": seen["foot_side"],
        "svg": seen["svg"],
    }
    return hold(value, purpose=CONFIRMED, user_id=request.user.pk)


def _measure_on(request: HttpRequest, doll: Doll, token: str) -> HttpResponse:
    query = request.GET.copy()
    query["mesh"] = token
    return redirect(f"{reverse('foot-new', args=[doll.pk])}?{query.urlencode()}")


def confirmed_mesh(request: HttpRequest, token: str) -> dict[str, Any] | None:
    """Return what a confirmed mesh's token stands for, None for no token or an old one."""
    return held(token[:80], purpose=CONFIRMED, user_id=request.user.pk) if token else None


def mesh_file(request: HttpRequest, version_id: int) -> HttpResponse:
    """Send the mesh a foot was read from, as it is kept: OBJ, in mm, in the foot's frame."""
    version = get_object_or_404(FootVersion.objects.select_related("doll"), pk=version_id)
    if not version.mesh:
        raise Http404(_("This foot has no mesh."))
    try:
        content = mesh_content(version.mesh["sha256"])
    except FootError as error:
        raise Http404(error.text) from None
    response = HttpResponse(content, content_type="model/obj")
    name = f"{version.doll.code}-{version.foot_side}-{version.version}-mesh.obj"
    response.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
