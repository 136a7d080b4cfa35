"""Settings for all tests: the same examples every time, without limits on time."""

from hypothesis import Phase, settings

settings.register_profile(
    "steady",
    deadline=None,
    derandomize=True,
    database=None,
    phases=[Phase.explicit, Phase.generate],
)
settings.load_profile("steady")
