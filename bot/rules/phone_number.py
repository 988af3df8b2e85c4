"""Telephone numbers in the one form that addresses use: E.164 (ITU-T), with the unit's region as default."""

from __future__ import annotations

import phonenumbers

LONGEST = 32


def e164(told: str, region: str | None) -> str:
    """The number as +COUNTRY NUMBER without spaces; what is no number (a short code, a name) as it came.

    A number need only be possible, not in use. Without a region, numbers without a country code stay as
    they came.
    """
    plain = "".join(sign for sign in told if sign.isprintable()).strip()[:LONGEST]
    try:
        number = phonenumbers.parse(plain, region)
    except phonenumbers.NumberParseException:
        return plain
    if not phonenumbers.is_possible_number(number):
        return plain
    return phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.E164)
