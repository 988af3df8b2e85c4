"""Settings of one process: from the environment (COLDJAR_…) and the store's own `settings.toml`.

What belongs to the unit (people, kits, limits) is not here: it is in the unit's chain, by `setup`.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Literal

from pydantic import Field, SecretStr, ValidationError
from pydantic_settings import (
    BaseSettings,
    PydanticBaseSettingsSource,
    SettingsConfigDict,
    TomlConfigSettingsSource,
)

from .model.errors import AskedWrongly
from .model.plainly import plainly

FILE = "settings.toml"


class Settings(BaseSettings):
    """Every setting, its default and what it does. Environment beats file beats default."""

    model_config = SettingsConfigDict(env_prefix="COLDJAR_", extra="forbid", frozen=True)

    database: str | None = Field(
        None, description="postgresql://… ; without it SQLite inside the store's folder"
    )
    host: str = Field(
        "127.0.0.1", description="where the web chat listens; beyond loopback put HTTPS before it"
    )
    port: int = Field(8765, ge=0, le=65535, description="where the web chat listens; 0 takes a free one")
    public_url: str | None = Field(
        None, description="how phones reach the web chat, like https://line.example"
    )
    file_limit_mb: int = Field(25, ge=1, le=500, description="the largest file taken")
    busy_s: float = Field(
        5.0, gt=0, le=60, description="how long a locked store is waited for before it is refused"
    )
    originals_url: str | None = Field(
        None, description="a bucket for files that machines share, like https://s3.example/bucket"
    )
    originals_region: str = Field("us-east-1", description="the bucket's region")
    originals_key_id: str | None = Field(None, description="the name of the key to the bucket")
    originals_secret: SecretStr | None = Field(None, description="the key to the bucket itself")
    health_port: int | None = Field(
        None, ge=0, le=65535, description="where /health and /metrics answer, on this machine only"
    )
    sms_gateway: str | None = Field(None, description="host:port where the SMS gateway expects its boxes")
    sms_number: str | None = Field(None, description="the number that texts by SMS come from")
    sms_box: str = Field("coldjar", description="the name under which the SMS gateway routes texts here")
    sms_gammu: Path | None = Field(
        None, description="the database file of gammu-smsd, the small way to texts by one USB modem"
    )
    telegram_token: SecretStr | None = Field(None, description="the bot's token; without it no Telegram")
    telegram_webhook_secret: SecretStr | None = Field(
        None, description="with it Telegram pushes to public_url; without it the line polls"
    )
    telegram_api: str | None = Field(
        None, description="a Bot API server of your own, like http://127.0.0.1:8081"
    )
    log_level: Literal["DEBUG", "INFO", "WARNING", "ERROR"] = Field(
        "INFO", description="DEBUG, INFO, WARNING or ERROR"
    )

    @classmethod
    def settings_customise_sources(
        cls,
        settings_cls: type[BaseSettings],
        init_settings: PydanticBaseSettingsSource,
        env_settings: PydanticBaseSettingsSource,
        dotenv_settings: PydanticBaseSettingsSource,
        file_secret_settings: PydanticBaseSettingsSource,
    ) -> tuple[PydanticBaseSettingsSource, ...]:
        """What was passed in, then the environment, then the file."""
        return (init_settings, env_settings, TomlConfigSettingsSource(settings_cls))


def read_settings(store: Path) -> Settings:
    """The settings in force for a store's folder. Raises AskedWrongly."""

    class InFolder(Settings):
        model_config = SettingsConfigDict(toml_file=store / FILE)

    try:
        return InFolder()
    except tomllib.TOMLDecodeError as problem:
        raise AskedWrongly(f"{store / FILE} is not TOML: {problem}.") from problem
    except ValidationError as problem:
        first = problem.errors()[0]
        raise AskedWrongly(f"The setting {first['loc'][0]}: {plainly(first)}.") from problem


def secrets_of(settings: Settings) -> list[str]:
    """What of the settings may never be seen in a log."""
    held = (settings.telegram_token, settings.telegram_webhook_secret, settings.originals_secret)
    return [one.get_secret_value() for one in held if one is not None]


def database_url(store: Path, settings: Settings) -> str:
    """Where the store's tables are."""
    return settings.database or f"sqlite:///{(store / 'coldjar.db').resolve()}"
