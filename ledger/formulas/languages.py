"""The languages in which a donor may like to be written to, by their codes (ISO 639-1)."""

LANGUAGES = {
    "ar": "Arabic", "zh": "Chinese", "cs": "Czech", "da": "Danish", "nl": "Dutch", "en": "English", "fi": "Finnish",
    "fr": "French", "de": "German", "el": "Greek", "he": "Hebrew", "hi": "Hindi", "hu": "Hungarian", "ga": "Irish",
    "it": "Italian", "ja": "Japanese", "ko": "Korean", "no": "Norwegian", "pl": "Polish", "pt": "Portuguese",
    "ro": "Romanian", "ru": "Russian", "es": "Spanish", "sv": "Swedish", "tl": "Tagalog", "tr": "Turkish",
    "uk": "Ukrainian", "vi": "Vietnamese", "cy": "Welsh",
}  # fmt: skip
PAPERS = "en"  # the one in which the house's papers are written so far
