"""The ledger's addresses."""

from django.urls import path

from ledger.views import (
    agreements,
    conditional_gifts,
    donors,
    entries,
    funds,
    gifts,
    leftovers,
    money,
    policies,
    transfers,
)

app_name = "ledger"
urlpatterns = [
    path("funds/", funds.funds, name="funds"),
    path("funds/open/", funds.fund_open, name="fund_open"),
    path("funds/<int:fund_id>/", funds.fund, name="fund"),
    path("funds/<int:fund_id>/close/", funds.fund_close, name="fund_close"),
    path("opening/", funds.opening, name="opening"),
    path("gifts/", gifts.gifts, name="gifts"),
    path("gifts/record/", gifts.gift_record, name="gift_record"),
    path("gifts/<int:gift_id>/", gifts.gift, name="gift"),
    path("gifts/<int:gift_id>/return/", gifts.gift_return, name="gift_return"),
    path("conditional-gifts/", conditional_gifts.conditional_gifts, name="conditional_gifts"),
    path("conditional-gifts/record/", conditional_gifts.conditional_gift_record, name="conditional_gift_record"),
    path(
        "conditional-gifts/<int:advance_id>/",
        conditional_gifts.conditional_gift_settle,
        name="conditional_gift_settle",
    ),
    path("goods/record/", gifts.goods_record, name="goods_record"),
    path("payouts/record/", gifts.payout_record, name="payout_record"),
    path("in-and-out/", money.in_and_out_page, name="in_and_out"),
    path("spending/record/", money.spending_record, name="spending_record"),
    path("practice/", money.practice, name="practice"),
    path("partners/<str:party_key>/", money.partner_money, name="partner_money"),
    path("transfers/record/", transfers.transfer_record, name="transfer_record"),
    path("leftovers/", leftovers.leftovers, name="leftovers"),
    path("leftovers/<int:fund_id>/", leftovers.leftover, name="leftover"),
    path("leftovers/<int:fund_id>/gifts/<int:gift_id>/", leftovers.leftover_answer, name="leftover_answer"),
    path("donors/", donors.donors, name="donors"),
    path("donors/add/", donors.donor_add, name="donor_add"),
    path("donors/<int:donor_id>/", donors.donor, name="donor"),
    path("donors/<int:donor_id>/change/", donors.donor_change, name="donor_change"),
    path("agreements/<str:party_key>/", agreements.agreements, name="agreements"),
    path("agreements/<str:party_key>/end/", agreements.agreement_end, name="agreement_end"),
    path("policies/", policies.policies, name="policies"),
    path("policies/<slug:code>/", policies.policy, name="policy"),
    path("entries/<int:number>/", entries.entry, name="entry"),
    path("entries/<int:number>/take-back/", entries.entry_take_back, name="entry_take_back"),
]
