"""Logins: links that let a person in once, and roles."""

import datetime

from django.contrib.auth import SESSION_KEY, get_user_model
from django.contrib.auth.models import AbstractBaseUser
from django.contrib.sessions.models import Session
from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from workshop.models import LoginLink, Member, Role
from workshop.services.records import audit_write
from workshop.tokens import random_token, token_hash

LINK_HOURS = 48


@transaction.atomic
def login_link_make(*, role: str, by: AbstractBaseUser | None) -> str:
    """Make a one-time link for a new login of that role and return its token."""
    token = random_token()
    link = LoginLink(
        token_hash=token_hash(token),
        role=role,
        expires_at=timezone.now() + datetime.timedelta(hours=LINK_HOURS),
    )
    link.full_clean()
    link.save()
    audit_write(link, by=by, action="invited")
    return token


@transaction.atomic
def owner_link_make() -> str | None:
    """Return the token of a fresh link for the first owner, or None once there is one."""
    if Member.objects.filter(role=Role.OWNER, user__is_active=True).exists():
        return None
    # An older link from an earlier start is void: only the newest printed one works.
    LoginLink.objects.filter(role=Role.OWNER, used_at=None).delete()
    return login_link_make(role=Role.OWNER, by=None)


def login_link_open(token: str) -> LoginLink | None:
    """Return the unused, unexpired link of a token, or None."""
    return LoginLink.objects.filter(
        token_hash=token_hash(token), used_at=None, expires_at__gt=timezone.now()
    ).first()


def login_links_open() -> QuerySet[LoginLink]:
    """Return the links that would let somebody in now, the newest first."""
    links = LoginLink.objects.filter(used_at=None, expires_at__gt=timezone.now())
    return links.select_related("user").order_by("-id")


@transaction.atomic
def login_link_end(link_id: int, *, by: AbstractBaseUser) -> bool:
    """Take a link back that nobody has used yet; False when somebody has."""
    now = timezone.now()
    ended = LoginLink.objects.filter(pk=link_id, used_at=None, expires_at__gt=now)
    if not ended.update(expires_at=now):
        return False
    audit_write(LoginLink.objects.get(pk=link_id), by=by, action="invitation taken back")
    return True


def _link_taken(link: LoginLink) -> bool:
    """Use a link up, unless somebody was quicker or it was taken back meanwhile."""
    now = timezone.now()
    fresh = LoginLink.objects.filter(pk=link.pk, used_at=None, expires_at__gt=now)
    return bool(fresh.update(used_at=now))


@transaction.atomic
def login_link_use(link: LoginLink, *, username: str, password: str) -> AbstractBaseUser | None:
    """Make the login a link stands for; None when somebody used the link first."""
    used = _link_taken(link)
    if not used:
        return None
    user = get_user_model().objects.create_user(username=username, password=password)
    if link.role == Role.OWNER:
        user.is_staff = user.is_superuser = True
        user.save()
    member = Member(user=user, role=link.role)
    member.full_clean()
    member.save()
    audit_write(member, by=user, action="joined")
    return user


@transaction.atomic
def password_link_make(user: AbstractBaseUser) -> str:
    """Make a one-time link by which a login gets another password, and return its token.

    Raises
    ------
    Member.DoesNotExist
        The login has no role here.
    """
    token = random_token()
    link = LoginLink(
        token_hash=token_hash(token),
        role=Member.objects.get(user=user).role,
        user=user,
        expires_at=timezone.now() + datetime.timedelta(hours=LINK_HOURS),
    )
    # Only the newest printed one works.
    LoginLink.objects.filter(user=user, used_at=None).delete()
    link.full_clean()
    link.save()
    audit_write(link, by=None, action="password link made")
    return token


@transaction.atomic
def password_link_use(link: LoginLink, *, password: str) -> AbstractBaseUser | None:
    """Set the password a link is for; None when somebody used the link first."""
    used = _link_taken(link)
    if not used or link.user is None:
        return None
    password_set(link.user, password, by=link.user)
    return link.user


@transaction.atomic
def password_set(
    user: AbstractBaseUser,
    password: str,
    *,
    by: AbstractBaseUser,
    action: str = "password changed",
) -> None:
    """Keep a password; sessions of before, which carry the old one's mark, end."""
    user.set_password(password)
    user.save(update_fields=["password"])
    audit_write(Member.objects.get(user=user), by=by, action=action)


def other_sessions_end(user: AbstractBaseUser, *, kept: str | None) -> int:
    """Log a person out wherever they are logged in but in the session kept; return in how many.

    OWASP ASVS 5.0, 7.4.3 (the number is from memory): once a way to prove who one is changes, the
    sessions begun before it end.
    """
    key = str(user.pk)
    open_ones = Session.objects.filter(expire_date__gt=timezone.now()).exclude(session_key=kept)
    ended = [
        session.pk
        for session in open_ones.iterator()
        if session.get_decoded().get(SESSION_KEY) == key
    ]
    Session.objects.filter(pk__in=ended).delete()
    return len(ended)


@transaction.atomic
def person_change(member: Member, *, is_active: bool, by: AbstractBaseUser) -> bool:
    """Open or close a person's login; False when it would close the last owner's."""
    others = Member.objects.filter(role=Role.OWNER, user__is_active=True).exclude(pk=member.pk)
    if not is_active and member.role == Role.OWNER and not others.exists():
        return False
    member.user.is_active = is_active
    member.user.save(update_fields=["is_active"])
    audit_write(member, by=by, action="login opened" if is_active else "login closed")
    return True


def lengths_choose(member: Member, *, unit: str) -> None:
    """Keep the unit a person types lengths in."""
    member.length_unit = unit
    member.full_clean()
    member.save(update_fields=["length_unit"])
