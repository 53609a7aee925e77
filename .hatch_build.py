"""Ship knowledge/ and transcripts_demo/ inside the wheel; an editable install reads them from the checkout."""

from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class KnowledgeIntoWheel(BuildHookInterface):  # type: ignore[type-arg]
    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if version == "standard":
            build_data["force_include"]["knowledge"] = "diagnose/_knowledge"
            build_data["force_include"]["transcripts_demo"] = "diagnose/_transcripts_demo"
