"""The clinic's addresses."""

from django.urls import path

from clinic.views import parts, people, set_up, sign_in

app_name = "clinic"
urlpatterns = [
    path("sign-in/", sign_in.sign_in, name="sign_in"),
    path("sign-out/", sign_in.sign_out, name="sign_out"),
    path("invitation/<str:token>/", sign_in.invitation, name="invitation"),
    path("set-up/", set_up.set_up, name="set_up"),
    path("people/", people.people, name="people"),
    path("people/add/", people.person_add, name="person_add"),
    path("people/<int:person_id>/", people.person, name="person"),
    path("people/<int:person_id>/invite/", people.person_invite, name="person_invite"),
    path("people/<int:person_id>/leave/", people.person_leave, name="person_leave"),
    path("people/<int:person_id>/come-back/", people.person_come_back, name="person_come_back"),
    path("parts/", parts.parts, name="parts"),
]
