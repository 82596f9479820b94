"""The people who sign in, and the roles they hold."""

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models
from django.utils.functional import cached_property

from config.roles import CHOICES, Role


class UserManager(BaseUserManager):
    def get_by_natural_key(self, sign_in):
        return self.get(sign_in__iexact=sign_in)


class User(AbstractBaseUser):
    """A person. The ledger knows them by id only, so that erasing a name leaves the books whole."""

    sign_in = models.CharField(max_length=150, unique=True)
    name = models.CharField(max_length=120)
    initials = models.CharField(max_length=4)
    partner = models.ForeignKey(
        "clinic.Partner", null=True, blank=True, on_delete=models.PROTECT, related_name="contacts"
    )
    is_active = models.BooleanField(default=True)
    joined_on = models.DateField(null=True, blank=True)
    left_on = models.DateField(null=True, blank=True)

    USERNAME_FIELD = "sign_in"
    REQUIRED_FIELDS: list[str] = []

    objects = UserManager()

    class Meta:
        constraints = [
            models.UniqueConstraint(models.functions.Lower("sign_in"), name="user_sign_in_once_in_any_case"),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.sign_in})"

    @cached_property
    def role_set(self) -> frozenset[Role]:
        return frozenset(Role(held.role) for held in self.roles_held.all())

    def may(self, *roles: Role) -> bool:
        return bool(self.role_set & set(roles))


class RoleHeld(models.Model):
    """One role that one person holds."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="roles_held")
    role = models.CharField(max_length=12, choices=CHOICES)

    class Meta:
        constraints = [
            models.UniqueConstraint("user", "role", name="role_held_once"),
            models.CheckConstraint(
                condition=models.Q(role__in=[value for value, _ in CHOICES]), name="role_held_is_known"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.user_id} holds {self.role}"


class Invitation(models.Model):
    """A link with which a person chooses a password, once. Only the token's SHA-256 is kept."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="invitations")
    token_sha256 = models.CharField(max_length=64, unique=True)
    made_at = models.DateTimeField()
    until_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(until_at__gt=models.F("made_at")), name="invitation_ends_after_it_is_made"
            ),
            models.UniqueConstraint(
                "user", condition=models.Q(used_at__isnull=True), name="invitation_one_open_for_a_person"
            ),
        ]

    def __str__(self) -> str:
        return f"invitation {self.pk} of {self.user_id}"


class PersonChange(models.Model):
    """The history of a person's place in the house: who gave or took which role, invited, or ended it."""

    user = models.ForeignKey(User, on_delete=models.PROTECT, related_name="changes")
    what = models.CharField(max_length=120)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        indexes = [models.Index(fields=["user", "at"], name="person_change_by_user")]

    def __str__(self) -> str:
        return f"change {self.pk} of person {self.user_id}"
